// SPDX-License-Identifier: GPL-3.0-or-later
// Sentences that follow from the knobs. They are the text output's own (lib/cavigram/report); what
// no knob changes comes worded from there.
import type { SheetData, SheetMark, Told } from "made/sheet_types";
import type { Balance } from "./batch";
import type { Method, Step } from "./clock";
import type { Figures } from "./figures";
import type { PourWindow } from "./foam";
import { Scale, TOLD, end, mixWords, own, pair, setting, significant, told, withValue } from "./told";

export function methodWords(data: SheetData, method: Method) {
  return data.methods.find((one) => one.method === method) ?? { words: method, short_words: method };
}

// ---- holes ------------------------------------------------------------------------------------

// What becomes of the pour hole; poured into the open half it never was one.
function poursThrough(figures: Figures | null): boolean {
  return !figures?.clock || figures.clock.chosen.method === "through_hole";
}

export function afterWords(mark: SheetMark, figures: Figures | null): Told {
  const words = poursThrough(figures) ? mark.after : mark.after_unused;
  return figures ? withValue(words, "length", figures.holes.vent_mm) : words;
}

// A pour hole that is not poured through is a vent, as its words say, unless it was asked for.
export function drillOf(mark: SheetMark, figures: Figures | null): number {
  if (mark.kind === "vent") return figures?.holes.vent_mm ?? mark.diameter_mm;
  const asked = JSON.stringify(mark.after) === JSON.stringify(mark.after_unused);
  return poursThrough(figures) || asked ? mark.diameter_mm : 0;
}

// ---- foam -------------------------------------------------------------------------------------

export function partWords(data: SheetData, figures: Figures): Told {
  const { mass } = figures;
  const spread = mass.part_mass_high_g - mass.part_mass_low_g > 1e-9 * mass.part_mass_g;
  const by = data.findings.some((f) => f.code === "from_tally") && !figures.moved ? "your castings" : "the file";
  const range = spread ? told`, by ${by} ${end(mass.part_mass_low_g, "mass")} to ${own(mass.part_mass_high_g, "mass")}` : [];
  return told`${pair(mass.part_mass_g, "mass")}${range}, mean ${pair(mass.molded_density_kg_m3, "density")}`;
}

export function chosenMixWords(figures: Figures): string {
  const how = figures.mix_clamped ? ", the nearest there is for this density" : figures.mix_chosen ? ", chosen for this density" : "";
  return `${mixWords(figures.card)}${how}`;
}

export function mixLine(figures: Figures, air_kpa: number): Told {
  const { mass } = figures;
  const air = Math.abs(air_kpa / 101.325 - 1) > 1e-3 ? told`, in air of ${own(air_kpa, "pressure")}` : [];
  const isShort = figures.stops.some((stop) => stop.code === "short_shot");
  const packed = isShort ? "" : `, packed to ${significant(mass.packing_factor, 3)} times that`;
  return told`${chosenMixWords(figures)}: rises freely to ${pair(mass.free_rise_kg_m3, "density")}${packed}${air}`;
}

export function otherMixWords({ other }: Figures): Told | null {
  if (!other) return null;
  const mix = mixWords(other);
  const feel = other.firmer ? "firmer" : "softer";
  return other.part_a_g > 0
    ? told`or ${mix}, ${feel}: A ${own(other.part_a_g, "mass")}, B ${own(other.part_b_g, "mass")}, packed to ${significant(other.packing_factor, 3)}, presses with about ${own(other.pressure_kpa, "pressure", 2)} (${setting("mix")} ${mix})`
    : told`at ${mix}, ${feel}, it would not fill the mold at this density`;
}

// Where the grams of one pour go; the pieces add up as they are printed.
export function sharesWords(balance: Balance, scaleStep: number): string {
  const scale = new Scale(scaleStep);
  const step = scale.fine * scale.per;
  const steps = (grams: number) => Math.round(grams / step);
  const grams = (count: number) => scale.number(count * step, scale.fine);
  let left = steps(balance.part_a_g + balance.part_b_g) - steps(balance.part_g);
  let words = `${grams(steps(balance.part_g))} ${scale.unit} part`;
  const pieces: [number, string][] = [
    [balance.holes_g, "in pour hole and vents"],
    [balance.flash_g, "flash"],
    [balance.spare_g, "spare"],
    [balance.waste_g, "stays in the cup"],
    [balance.residue_g, "in A's cup"],
  ];
  for (const [piece, what] of pieces) {
    if (steps(piece) === 0) continue;
    words += ` + ${grams(steps(piece))} ${what}`;
    left -= steps(piece);
  }
  return left === 0 ? words : `${words} ${left > 0 ? "+" : "\u2212"} ${grams(Math.abs(left))} rounding`;
}

export function togetherWords({ batch, choice }: Figures): string {
  const together = new Scale(choice.scale_readability_g).text(batch.part_a_g + batch.part_b_g);
  return `${together} ${batch.cups_each > 1 ? `in each of ${batch.cups_each} cups` : "together"}: ${sharesWords(batch.balance, choice.scale_readability_g)}`;
}

// The parts that share the cup, each with its own grams; none where there is but one.
export function partsWords(data: SheetData, { mass, choice }: Figures): string[] {
  const also = data.plan.foam?.also ?? [];
  if (also.length === 0) return [];
  const scale = new Scale(choice.scale_readability_g);
  const grams = (g: number) => `${scale.three(g)} ${scale.unit}`;
  const planned = also.reduce((sum, one) => sum + one.part_mass_g, 0);
  return [
    `${data.plan.input.file}, ${grams(mass.part_mass_g)}`,
    ...also.map((one) => `${one.file}, ${grams((mass.also_mass_g * one.part_mass_g) / planned)}`),
  ];
}

export function trueWords({ batch, choice }: Figures): string {
  return `ratio true to ${significant(batch.ratio_true_percent, 2)} % on a scale that shows ${new Scale(choice.scale_readability_g).stepText}`;
}

export function pressureWords({ window: w }: Figures): Told {
  return told`with about ${pair(w.pressure_kpa, "pressure", 2)}; plan the straps for ${pair(w.strap_for_kpa, "pressure", 2)}`;
}

export function windowVerdict(w: PourWindow): { good: boolean; words: string } {
  const hard = w.planned_g > w.presses_over_g * (1 + 1e-12);
  const short = w.planned_g < w.fills_from_high_g * (1 - TOLD);
  if (hard) return { good: false, words: short ? "may fall short, and presses too hard" : "presses too hard" };
  return short ? { good: false, words: "may fall short if the foam rises little" } : { good: true, words: "fills, and the mold holds" };
}

// ---- clock ------------------------------------------------------------------------------------

// Whole seconds, as a clock on the wall shows them: a deadline is rounded down and the end of a
// step up, so that neither promises time that is not there.
export const downTo = (s: number) => Math.floor(s + 1e-9).toFixed(0);
export const upTo = (s: number) => Math.ceil(s - 1e-9).toFixed(0).replace("-0", "0");
export const minutes = (s: number) => significant(s / 60, 2);

export interface Moment {
  at_s: number;
  clock: string; // "12 to 17 s"
  what: string;
  step: Step | null;
  by: string; // "poured by 30 s"
  late: string;
}

const MOST_CUPS = 4;

// Steps and what the foam does, in order of time; of many cups the first two and the last.
export function timeLine({ clock }: Figures): Moment[] {
  if (!clock) return [];
  const isTold = ({ cup }: Step) => clock.cups <= MOST_CUPS || cup <= 2 || cup === clock.cups;
  const moments: Moment[] = clock.chosen.steps.filter(isTold).map((step) => ({
    at_s: step.start_s,
    clock: `${upTo(step.start_s)} to ${upTo(step.end_s)} s`,
    what: step.name,
    step,
    by: step.deadline ? `${step.deadline} by ${downTo(step.by_s)} s` : "",
    late: step.deadline && step.end_s > step.by_s ? `TOO LATE by ${significant(step.end_s - step.by_s, 2)} s` : "",
  }));
  const event = (at_s: number, what: string) => moments.push({ at_s, clock: `${downTo(at_s)} s`, what, step: null, by: "", late: "" });
  event(clock.work_time_s, "work time ends");
  if (clock.foam_at_top_s !== null) event(clock.foam_at_top_s, "foam at the highest vent");
  event(clock.most_pressure_s, clock.foam_at_top_s !== null ? "it presses most" : "it has risen");
  return moments.sort((p, q) => p.at_s - q.at_s);
}

export function spareWords(figures: Figures): string {
  const chosen = figures.clock?.chosen;
  if (!chosen) return "";
  const what = chosen.tightest === "covered" ? "the hole" : "it";
  return chosen.spare_s >= 0
    ? `${significant(chosen.spare_s, 2)} s, until ${what} must be ${chosen.tightest}`
    : `none: ${what} is ${chosen.tightest} ${significant(-chosen.spare_s, 2)} s TOO LATE`;
}

export function openWords(figures: Figures): string {
  return `${minutes(figures.clock?.demold_min_s ?? 0)} to ${minutes(figures.clock?.demold_max_s ?? 0)} min, when the leftover in the cup is firm`;
}
