// SPDX-License-Identifier: GPL-3.0-or-later
// Grams of A, B and pigment, how true their ratio is, and where they go: follows
// lib/cavigram/foam/batch.cpp.
import type { Live, MixCard } from "made/sheet_types";
import type { Choice } from "./arithmetic";
import type { Holes, Mass, PourWindow } from "./foam";
import { liquidDensity } from "./mix";
import { type Notice, Refusal, Scale, general, mixWords, own, pair, setting, significant, told } from "./told";

export interface Balance {
  part_g: number;
  holes_g: number;
  flash_g: number;
  spare_g: number;
  waste_g: number;
  residue_g: number;
  rounding_g: number;
  pigment_g: number;
  part_a_g: number;
  part_b_g: number;
}

export interface Batch {
  pour_mass_g: number;
  part_a_g: number;
  part_b_g: number;
  pigment_g: number;
  waste_g: number;
  batches: number;
  cups_each: number;
  ratio_off_percent: number;
  ratio_uncertainty_percent: number;
  ratio_true_percent: number;
  least_batch_g: number;
  scale_needed_g: number;
  liquid_kg_m3: number;
  liquid_ml: number;
  cup_ml: number;
  total_a_g: number;
  total_b_g: number;
  total_pigment_g: number;
  copies_per_kit: number;
  cost_per_copy: number;
  balance: Balance;
}

type Mix = Pick<MixCard, "mix_a" | "mix_b">;

// A reading to a step, and a tared one, which is the difference of two.
function reading_g(live: Live, step: number): number {
  return step / Math.sqrt(live.tared ? 6 : 12);
}

function leastBatch(live: Live, mix: Mix, step: number): number {
  const r = mix.mix_a / mix.mix_b;
  return (2 * reading_g(live, step) * (1 + r) * Math.sqrt(1 + 1 / (r * r))) / (live.good_ratio_percent / 100);
}

const SCALE_STEPS = [10, 5, 2, 1, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01];

// The gross pour of one cup that gives up `need`: with a film u^3 - k u^2 - need = 0, by Newton.
function gross(live: Live, choice: Choice, need: number): number {
  if (live.waste_film === undefined) return need / (1 - choice.waste_share);
  const k = live.waste_film.stays_g / live.waste_film.of_g ** (2 / 3);
  let u = k + Math.cbrt(need);
  for (let i = 0; i < 100; ++i) {
    const step = (u * u * (u - k) - need) / (u * (3 * u - 2 * k));
    u -= step;
    if (Math.abs(step) <= 1e-16 * u) break;
  }
  return u * u * u;
}

function wasteOf(live: Live, choice: Choice, pour: number): number {
  return live.waste_film === undefined
    ? choice.waste_share * pour
    : live.waste_film.stays_g * (pour / live.waste_film.of_g) ** (2 / 3);
}

// Multiples of the scale's step whose sum is the pour or up to two steps more, with the truest
// ratio; of equally true ones the least. What stays in A's cup is weighed on top of A.
function roundedToScale(pour: number, mix: Mix, residue: number, d: number) {
  const a = (pour * mix.mix_a) / (mix.mix_a + mix.mix_b) + residue;
  const b = (pour * mix.mix_b) / (mix.mix_a + mix.mix_b);
  const wanted = mix.mix_a / mix.mix_b;
  const slack = 1e-3;
  let best = Infinity;
  const rounded = { part_a_g: 0, part_b_g: 0, ratio_off_percent: 0 };
  const aSteps = Math.floor(a / d + slack);
  const bSteps = Math.floor(b / d + slack);
  for (const i of [aSteps, aSteps + 1]) {
    for (const j of [bSteps, bSteps + 1, bSteps + 2]) {
      const over = i + j - (pour + residue) / d;
      const least = i === 1 && j === 1;
      const netA = i * d - residue;
      if (!(netA > 0) || j < 1 || over < -slack || (over > 2 - slack && !least)) continue;
      const off = Math.abs(netA / (j * d) / wanted - 1);
      if (off < best - 1e-9) {
        best = off;
        rounded.part_a_g = i * d;
        rounded.part_b_g = j * d;
        rounded.ratio_off_percent = 100 * (netA / (j * d) / wanted - 1);
      }
    }
  }
  if (best === Infinity) {
    throw new Refusal(told`A scale that shows ${general(d)} g can't weigh this pour of ${own(pour, "mass")}; use a finer one.`);
  }
  return rounded;
}

function validate(live: Live, choice: Choice, parts_g: number): void {
  if (live.waste_film === undefined && !(choice.waste_share >= 0 && choice.waste_share <= 0.9)) {
    throw new Refusal(told`Waste is a share of the pour: give 0 to 90 %.`);
  }
  if (!(Number.isInteger(choice.copies) && choice.copies >= 1 && choice.copies <= 100000)) {
    throw new Refusal(told`Copies: give a whole number, 1 or more.`);
  }
  if (!(choice.scale_readability_g >= 1e-4 && choice.scale_readability_g <= 1000)) {
    throw new Refusal(told`The scale's step: give 0.0001 to 1000 g.`);
  }
  if (!(live.cup_residue_g <= 0.5 * parts_g)) {
    throw new Refusal(told`What stays in A's cup is more than half of such a part: weigh A into B's cup.`);
  }
}

// Cups for one pour; smaller cups waste more, so that a few more may be needed than the quotient.
function splitIntoCups(live: Live, choice: Choice, need: number): { pour: number; cups: number } {
  let pour = gross(live, choice, need);
  let cups = 1;
  while (live.largest_g > 0 && pour > live.largest_g * (1 + 1e-9)) {
    cups = Math.max(cups + 1, Math.min(2000, Math.ceil((cups * pour) / live.largest_g - 1e-9)));
    if (cups > 1000) throw new Refusal(told`The pour would take more than a thousand cups: give a larger batch.`);
    pour = gross(live, choice, need / cups);
  }
  return { pour, cups };
}

export function batchOf(live: Live, choice: Choice, mass: Mass, holes: Holes, card: MixCard, mix: Mix = card): Batch {
  const step = choice.scale_readability_g;
  const residue = live.cup_residue_g;
  const part_g = mass.part_mass_g + mass.also_mass_g;
  validate(live, choice, part_g);
  const holes_g = live.molds * holes.mass_g;
  const flash_g = live.flash_share * part_g;
  const { pour, cups } = splitIntoCups(live, choice, part_g + holes_g + flash_g + live.spare_g);
  const waste = wasteOf(live, choice, pour);
  const rounded = roundedToScale(pour, mix, residue, step);
  const { part_a_g: a, part_b_g: b } = rounded;
  let pigment = Math.round((live.pigment_share * b) / step) * step;
  if (live.pigment_share > 0 && pigment === 0) pigment = live.pigment_share * b;
  const netA = a - residue;
  const uncertainty = 200 * reading_g(live, step) * Math.hypot(1 / netA, 1 / b);
  const residuePercent = (100 * live.residue_spread * residue) / netA;
  const liquid_kg_m3 = liquidDensity(card);
  const liquid = ((netA + b) / liquid_kg_m3) * 1000;
  const risenWaste = (waste / mass.free_rise_kg_m3) * 1000;
  const batches = choice.copies * cups;
  const kit = card.kit_a_g > 0 && card.kit_b_g > 0;
  const perKit = kit ? Math.min(card.kit_a_g / (cups * a), card.kit_b_g / (cups * b)) : 0;
  const whole = mix.mix_a + mix.mix_b;
  return {
    ...rounded,
    pour_mass_g: pour,
    pigment_g: pigment,
    waste_g: waste,
    batches,
    cups_each: cups,
    ratio_uncertainty_percent: uncertainty,
    ratio_true_percent: Math.hypot(uncertainty, rounded.ratio_off_percent, residuePercent),
    least_batch_g: leastBatch(live, mix, step),
    scale_needed_g: SCALE_STEPS.find((s) => leastBatch(live, mix, s) <= pour) ?? 0.01,
    liquid_kg_m3,
    liquid_ml: liquid,
    cup_ml: Math.ceil(Math.max(2 * liquid, risenWaste) / 10) * 10,
    total_a_g: batches * a,
    total_b_g: batches * b,
    total_pigment_g: batches * pigment,
    copies_per_kit: perKit,
    cost_per_copy: kit ? card.kit_price / perKit : 0,
    balance: {
      part_g,
      holes_g,
      flash_g,
      spare_g: live.spare_g,
      waste_g: cups * waste,
      residue_g: cups * residue,
      rounding_g: cups * (netA - (pour * mix.mix_a) / whole + (b - (pour * mix.mix_b) / whole)),
      pigment_g: cups * pigment,
      part_a_g: cups * a,
      part_b_g: cups * b,
    },
  };
}

export function batchNotices(live: Live, choice: Choice, batch: Batch, card: MixCard): Notice[] {
  const found: Notice[] = [];
  const scale = new Scale(choice.scale_readability_g);
  const onScale = (g: number) => (scale.unit === "oz" ? scale.text(g) : `${general(g)} g`);
  const step = onScale(choice.scale_readability_g);
  const needed = general(batch.scale_needed_g);
  const least = own(batch.least_batch_g, "mass");
  if (live.pigment_share > 0 && Math.round((live.pigment_share * batch.part_b_g) / choice.scale_readability_g) === 0) {
    found.push({
      severity: "warning",
      code: "pigment_below_scale",
      text: told`The pigment (${own(batch.pigment_g, "mass", 2)}) is less than the scale shows; weigh it on a finer scale or count drops.`,
    });
  }
  if (batch.cups_each > 1) {
    found.push({
      severity: "warning",
      code: "several_cups",
      text: told`Each pour is split into ${batch.cups_each} cups, so that each can be stirred and poured in time; a joint will show between them.`,
    });
  }
  if (Math.abs(batch.ratio_off_percent) > live.worst_ratio_percent) {
    found.push({
      severity: "stop",
      code: "scale_too_coarse",
      text: told`On a scale that shows ${step} the nearest to ${mixWords(card)} is ${onScale(batch.part_a_g)} and ${onScale(batch.part_b_g)}, ${significant(Math.abs(batch.ratio_off_percent), 2)} % off; use one that shows ${needed} g, or pour at least ${least} at once.`,
    });
  } else if (batch.pour_mass_g < batch.least_batch_g) {
    found.push({
      severity: "warning",
      code: "batch_too_small_for_scale",
      text: told`A scale that shows ${step} weighs this pour's ratio only to ${significant(batch.ratio_uncertainty_percent, 2)} %: use a scale that shows ${needed} g, or pour at least ${least} at once, as several copies from one cup.`,
    });
  }
  const share = (100 * live.usual_residue_g) / batch.part_a_g;
  if (live.cup_residue_g === 0 && share > live.good_ratio_percent) {
    found.push({
      severity: "note",
      code: "residue_matters",
      text: told`What stays in A's own cup is missing in the mix: ${general(live.usual_residue_g)} g would be ${significant(share, 2)} % of A here; weigh A into B's cup, or weigh A's empty cup afterwards and give ${setting("cup-residue")}.`,
    });
  }
  return found;
}

// A cup that no hand stirs, a pressure that no strapped mold holds: lib/cavigram/plan/recipe_limits.
export function recipeNotices(live: Live, batch: Batch, window: PourWindow): Notice[] {
  const found: Notice[] = [];
  if (!(live.largest_g > 0) && batch.pour_mass_g > live.stirred_by_hand_g) {
    found.push({
      severity: "stop",
      code: "too_much_at_once",
      text: told`One cup of ${pair(batch.pour_mass_g, "mass")} is more than a hand stirs evenly before such a foam rises, about ${pair(live.stirred_by_hand_g, "mass")}; say how much you stir and pour in time (${setting("largest-batch")}), and it is parted into cups, or check the part's size.`,
    });
  }
  if (window.pressure_kpa > Math.max(live.strapped_by_hand_kpa, live.mold_holds_kpa)) {
    found.push({
      severity: "stop",
      code: "bursts_mold",
      text: told`The foam would press with about ${pair(window.pressure_kpa, "pressure", 2)}, and no mold that is strapped by hand holds more than about ${pair(live.strapped_by_hand_kpa, "pressure", 2)}; put less than ${pair(window.presses_over_g, "mass")} into it, choose a denser mix, or say what your mold is built for (${setting("mold-holds")}).`,
    });
  }
  return found;
}
