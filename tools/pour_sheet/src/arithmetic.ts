// SPDX-License-Identifier: GPL-3.0-or-later
// The program's arithmetic for grams and clock, done again in the page when a person turns a knob.
// It follows lib/cavigram/foam/foam_mass.cpp (basis molded), foam/batch.cpp, foam/kinetics.cpp and
// pour/bench.cpp line by line; tests/browser holds it against the program over 500 seeded cases.
import type { BenchFigures, Live, Method } from "./sheet_data";

const GRAMS_PER_MM3 = 1e-6; // of 1 kg/m3
const GAS_J_MOL_K = 8.314462618; // CODATA 2018, exact
const ZERO_CELSIUS_K = 273.15;

export interface Choice {
  density_kg_m3: number | null; // null: as the plan has it
  waste_share: number;
  copies: number;
  scale_readability_g: number;
  temperature_c: number;
}

export interface Mass {
  part_mass_g: number;
  part_mass_low_g: number;
  part_mass_high_g: number;
  molded_density_kg_m3: number;
  core_density_kg_m3: number;
  skin_thinned: boolean;
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
  least_batch_g: number;
  scale_needed_g: number;
  liquid_ml: number;
  cup_ml: number;
  total_a_g: number;
  total_b_g: number;
  total_pigment_g: number;
  copies_per_kit: number;
  cost_per_copy: number;
  too_small_for_scale: boolean;
}

export interface Step {
  name: string;
  seconds: number;
}

export interface Budget {
  method: Method;
  steps: Step[];
  total_s: number;
  spare_s: number;
  possible: boolean;
}

export interface Clock {
  work_time_s: number;
  demold_min_s: number;
  demold_max_s: number;
  chosen: Budget;
  methods: Budget[];
}

// A choice that can't be computed: the text says what to change.
export class Refusal extends Error {}

// What settle_molded does: the core is what the skin leaves of the mass that is asked for.
function settled(live: Live, density: number): Mass {
  const fits = (skin: number) =>
    skin < live.volume_mm3 && skin * live.skin_density_kg_m3 < live.volume_mm3 * density;
  const index = live.skins.findIndex((skin) => fits(skin.volume_mm3));
  const skin = live.skins[index];
  if (!(density > 0) || !skin) {
    throw new Refusal(
      "The skin alone would weigh more than the part at this density: give a higher one, or run the program with a thinner skin.",
    );
  }
  const core =
    (density * live.volume_mm3 - live.skin_density_kg_m3 * skin.volume_mm3) /
    (live.volume_mm3 - skin.volume_mm3);
  const skin_mass = GRAMS_PER_MM3 * live.skin_density_kg_m3 * skin.volume_mm3;
  const core_mass = GRAMS_PER_MM3 * core * (live.volume_mm3 - skin.volume_mm3);
  const mass = skin_mass + core_mass;
  return {
    part_mass_g: mass,
    part_mass_low_g: (mass * live.volume_low_mm3) / live.volume_mm3,
    part_mass_high_g: (mass * live.volume_high_mm3) / live.volume_mm3,
    molded_density_kg_m3: mass / (GRAMS_PER_MM3 * live.volume_mm3),
    core_density_kg_m3: core,
    skin_thinned: index > 0,
  };
}

export function massOf(live: Live, choice: Choice): Mass {
  if (choice.density_kg_m3 === null || live.density_fixed) {
    return {
      part_mass_g: live.part_mass_g,
      part_mass_low_g: live.part_mass_low_g,
      part_mass_high_g: live.part_mass_high_g,
      molded_density_kg_m3: live.density_kg_m3,
      core_density_kg_m3: live.core_density_kg_m3,
      skin_thinned: false,
    };
  }
  return settled(live, choice.density_kg_m3);
}

function leastBatch(live: Live, step: number): number {
  const r = live.mix_a / live.mix_b;
  return (
    (((2 * step) / Math.sqrt(12)) * (1 + r) * Math.sqrt(1 + 1 / (r * r))) /
    (live.good_ratio_percent / 100)
  );
}

const SCALE_STEPS = [10, 5, 2, 1, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01];

// Multiples of the scale's step whose sum is the pour or up to two steps more, with the truest
// ratio; of equally true ones the least.
function roundedToScale(live: Live, pour: number, d: number) {
  const a = (pour * live.mix_a) / (live.mix_a + live.mix_b);
  const b = (pour * live.mix_b) / (live.mix_a + live.mix_b);
  const wanted = live.mix_a / live.mix_b;
  const slack = 1e-3;
  let best = Infinity;
  const rounded = { part_a_g: 0, part_b_g: 0, ratio_off_percent: 0 };
  const aSteps = Math.floor(a / d + slack);
  const bSteps = Math.floor(b / d + slack);
  for (const i of [aSteps, aSteps + 1]) {
    for (const j of [bSteps, bSteps + 1, bSteps + 2]) {
      const over = i + j - pour / d;
      const least = i === 1 && j === 1;
      if (i < 1 || j < 1 || over < -slack || (over > 2 - slack && !least)) continue;
      const off = Math.abs(i / j / wanted - 1);
      if (off < best - 1e-9) {
        best = off;
        rounded.part_a_g = i * d;
        rounded.part_b_g = j * d;
        rounded.ratio_off_percent = 100 * (i / j / wanted - 1);
      }
    }
  }
  return rounded;
}

export function batchOf(live: Live, choice: Choice, mass: Mass): Batch {
  const step = choice.scale_readability_g;
  if (!(choice.waste_share >= 0 && choice.waste_share <= 0.9)) {
    throw new Refusal("Waste is a share of the pour: give 0 to 90 %.");
  }
  if (!(Number.isInteger(choice.copies) && choice.copies >= 1 && choice.copies <= 100000)) {
    throw new Refusal("Copies: give a whole number, 1 or more.");
  }
  if (!(step > 0)) throw new Refusal("The scale's step must be more than 0 g.");
  let pour = (mass.part_mass_g + live.also_mass_g + live.spare_g) / (1 - choice.waste_share);
  let waste = pour * choice.waste_share;
  let cups = 1;
  if (live.largest_g > 0) cups = Math.ceil(pour / live.largest_g - 1e-9);
  pour /= cups;
  waste /= cups;
  const rounded = roundedToScale(live, pour, step);
  const uncertainty =
    ((200 * step) / Math.sqrt(12)) * Math.hypot(1 / rounded.part_a_g, 1 / rounded.part_b_g);
  let pigment = Math.round((live.pigment_share * rounded.part_b_g) / step) * step;
  if (live.pigment_share > 0 && pigment === 0) pigment = live.pigment_share * rounded.part_b_g;
  const liquid = ((rounded.part_a_g + rounded.part_b_g) / live.liquid_kg_m3) * 1000;
  const freeRise = live.free_rise_kg_m3 ?? mass.core_density_kg_m3;
  const risenWaste = (waste / freeRise) * 1000;
  const batches = choice.copies * cups;
  const kit = live.kit_a_g > 0 && live.kit_b_g > 0;
  const perKit = kit
    ? Math.min(live.kit_a_g / (cups * rounded.part_a_g), live.kit_b_g / (cups * rounded.part_b_g))
    : 0;
  const least = leastBatch(live, step);
  return {
    ...rounded,
    pour_mass_g: pour,
    pigment_g: pigment,
    waste_g: waste,
    batches,
    cups_each: cups,
    ratio_uncertainty_percent: uncertainty,
    least_batch_g: least,
    scale_needed_g: SCALE_STEPS.find((s) => leastBatch(live, s) <= pour) ?? 0.01,
    liquid_ml: liquid,
    cup_ml: Math.ceil(Math.max(2 * liquid, risenWaste) / 10) * 10,
    total_a_g: batches * rounded.part_a_g,
    total_b_g: batches * rounded.part_b_g,
    total_pigment_g: batches * pigment,
    copies_per_kit: perKit,
    cost_per_copy: kit ? live.kit_price / perKit : 0,
    too_small_for_scale: pour < least,
  };
}

function atTemperature(bench: BenchFigures, seconds: number, celsius: number): number {
  if (bench.activation_kj_mol !== null) {
    const inverse = 1 / (bench.at_c + ZERO_CELSIUS_K) - 1 / (celsius + ZERO_CELSIUS_K);
    return seconds * Math.exp(((-1000 * bench.activation_kj_mol) / GAS_J_MOL_K) * inverse);
  }
  return seconds * 2 ** ((bench.at_c - celsius) / bench.halving_k);
}

function budgetOf(method: Method, bench: BenchFigures, pour: number, workTime: number): Budget {
  const steps: Step[] = [{ name: "stir", seconds: bench.stir_s }];
  let possible = true;
  if (method === "through_hole") {
    const ml = (pour / bench.liquid_kg_m3) * 1000;
    steps.push({ name: "pour through the hole", seconds: ml / bench.hole_flow_ml_s });
    steps.push({ name: "cover the hole", seconds: bench.plug_s });
  } else {
    if (method === "brush_first") {
      steps.push({ name: "brush both halves", seconds: bench.area_mm2 / 100 / bench.brush_cm2_s });
    }
    steps.push({ name: "pour into the open half", seconds: bench.empty_cup_s });
    steps.push({ name: "close", seconds: bench.close_s });
    steps.push({ name: "strap", seconds: bench.strap_s });
    steps.push({ name: "turn over", seconds: bench.turn_s });
    const liquid_mm3 = (pour / bench.liquid_kg_m3) * 1e6;
    possible = !(bench.lower_half_mm3 > 0 && liquid_mm3 > bench.lower_half_mm3);
  }
  const total = steps.reduce((sum, step) => sum + step.seconds, 0);
  return { method, steps, total_s: total, spare_s: workTime - total, possible };
}

const METHODS: Method[] = ["through_hole", "open_half_and_turn", "brush_first"];
const PREFERRED: Method[] = ["open_half_and_turn", "through_hole", "brush_first"];

export function clockOf(bench: BenchFigures, choice: Choice, batch: Batch): Clock {
  const celsius = choice.temperature_c;
  if (!(Math.abs(celsius - bench.at_c) <= bench.trusted_step_k)) {
    throw new Refusal(
      `The foam's times are known at ${bench.at_c} C and can't be carried over more than ${bench.trusted_step_k} degrees: measure them at your temperature.`,
    );
  }
  const workTime = atTemperature(bench, bench.work_time_s, celsius);
  const pour = batch.part_a_g + batch.part_b_g;
  const methods = METHODS.map((method) => budgetOf(method, bench, pour, workTime));
  const of = (method: Method) => methods[METHODS.indexOf(method)] as Budget;
  let chosen = of("through_hole");
  const fitting = PREFERRED.find((method) => of(method).possible && of(method).spare_s >= 0);
  if (bench.method) {
    chosen = of(bench.method);
  } else if (fitting) {
    chosen = of(fitting);
  } else {
    for (const one of methods) if (one.possible && one.spare_s > chosen.spare_s) chosen = one;
  }
  return {
    work_time_s: workTime,
    demold_min_s: atTemperature(bench, bench.demold_min_s, celsius),
    demold_max_s: atTemperature(bench, bench.demold_max_s, celsius),
    chosen,
    methods,
  };
}
