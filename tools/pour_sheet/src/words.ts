// SPDX-License-Identifier: GPL-3.0-or-later
// Sentences that page and card share. They are the text output's own: see lib/cavigram/report.
import type { Balance } from "./batch";
import type { Step } from "./clock";
import type { Figures } from "./main";
import { mixWords, plain, shortest } from "./notices";
import type { Mark, Method, Place, SheetData } from "./sheet_data";
import * as units from "./units";
import type { System } from "./units";

export const METHOD_WORDS: Record<Method, string> = {
  through_hole: "through the pour hole of the closed, strapped mold",
  open_half_and_turn: "into the open half; close, turn over held tight, strap",
  brush_first: "brush both halves, pour into the open one; close, turn over held tight, strap",
};

export const SHORT_METHODS: Record<Method, string> = {
  through_hole: "through the hole",
  open_half_and_turn: "into the open half",
  brush_first: "brushing first",
};

export function upWords(up: Place): string {
  const names = ["x", "y", "z"];
  const i = up.findIndex((c) => Math.abs(c) > 0.9999);
  const axis = (k: number) => `${(up[k] as number) > 0 ? "+" : "\u2212"}${names[k]}`;
  if (i >= 0) return `${axis(i)} of the file`;
  // A person stands the part on an axis and leans it: which axis, how far, toward which others.
  const order = [0, 1, 2].sort((p, q) => Math.abs(up[q] as number) - Math.abs(up[p] as number));
  const [first = 0, second = 1, third = 2] = order;
  const degrees = (Math.acos(Math.min(1, Math.abs(up[first] as number))) * 180) / Math.PI;
  const both = Math.abs(up[third] as number) > 0.4 * Math.abs(up[second] as number);
  return `${axis(first)} of the file, leaned ${units.significant(degrees, 2)}\u00b0 toward ${axis(second)}${both ? ` and ${axis(third)}` : ""}`;
}

export function placeWords(at: Place, where: string | undefined): string {
  if (where) return where;
  return `x ${at[0].toFixed(1)}, y ${at[1].toFixed(1)}, z ${at[2].toFixed(1)} mm`.replaceAll("-", "\u2212");
}

export function letter(i: number): string {
  return String.fromCharCode(97 + i);
}

// ---- holes ------------------------------------------------------------------------------------

function openingOf(data: SheetData, mark: Mark) {
  const holes = data.plan.air?.openings.filter((opening) => opening.kind === "pour_hole") ?? [];
  return holes[Number(mark.label.slice(1) || "1") - 1];
}

// By ruler, as the program says it.
export function whereOf(data: SheetData, mark: Mark): string | undefined {
  return mark.pour_hole ? openingOf(data, mark)?.where : data.plan.air?.vents[Number(mark.label) - 1]?.where;
}

// What becomes of the pour hole; poured into the open half it never was one.
export function afterWords(data: SheetData, mark: Mark, figures: Figures | null, system: System): string {
  const opening = openingOf(data, mark);
  if (!opening?.lets_air_out) return "plugged after the pour: it lets out no air";
  const drill = figures ? `${units.drill(figures.holes.vent_mm, system)} wide` : "as a vent";
  if (figures?.clock && figures.clock.chosen.method !== "through_hole" && !opening.given) {
    return `not poured through: drill it ${drill}, as the topmost vent`;
  }
  return `covered after the pour; drill the cover ${drill}, it is a vent too`;
}

export function drillOf(mark: Mark, figures: Figures | null, system: System): string {
  const mm = figures ? figures.holes.vent_mm : mark.diameter_mm;
  return mm > 0 ? units.drill(mm, system) : "";
}

// ---- foam -------------------------------------------------------------------------------------

export function partWords(data: SheetData, figures: Figures, system: System): string {
  const { mass } = figures;
  const spread = mass.part_mass_high_g - mass.part_mass_low_g > 1e-9 * mass.part_mass_g;
  const by = data.plan.findings.some((f) => f.code === "from_tally") && !figures.moved ? "your castings" : "the file";
  return (
    units.mass(mass.part_mass_g, system) +
    (spread ? `, by ${by} ${units.significant(mass.part_mass_low_g, 3)} to ${units.significant(mass.part_mass_high_g, 3)} g` : "") +
    `, mean ${units.density(mass.molded_density_kg_m3, system)}`
  );
}

export function chosenMixWords(figures: Figures): string {
  const how = figures.mix_clamped ? ", the nearest there is for this density" : figures.mix_chosen ? ", chosen for this density" : "";
  return `${mixWords(figures.card)}${how}`;
}

export function mixLine(figures: Figures, air_kpa: number, system: System): string {
  const { mass } = figures;
  return (
    `${chosenMixWords(figures)}: rises freely to ${units.density(mass.free_rise_kg_m3, system)}, packed to ${plain(mass.packing_factor, 3)} times that` +
    (Math.abs(air_kpa / 101.325 - 1) > 1e-3 ? `, in air of ${plain(air_kpa, 3)} kPa` : "")
  );
}

export function otherMixWords(figures: Figures): string | null {
  const { other } = figures;
  if (!other) return null;
  const feel = other.firmer ? "firmer" : "softer";
  return other.part_a_g > 0
    ? `or ${mixWords(other)}, ${feel}: A ${plain(other.part_a_g, 3)} g, B ${plain(other.part_b_g, 3)} g, packed to ${plain(other.packing_factor, 3)}, presses with about ${plain(other.pressure_kpa, 2)} kPa (--mix ${mixWords(other)})`
    : `at ${mixWords(other)}, ${feel}, it would not fill the mold at this density`;
}

// Where the grams of one pour go; the pieces add up as they are printed.
export function sharesWords(balance: Balance, scaleStep: number): string {
  const step = Math.min(scaleStep, 0.1);
  const steps = (grams: number) => Math.round(grams / step);
  const grams = (count: number) => units.scaleGrams(count * step, step);
  let left = steps(balance.part_a_g + balance.part_b_g) - steps(balance.part_g);
  let words = `${grams(steps(balance.part_g))} g part`;
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

export function togetherWords(figures: Figures): string {
  const { batch, choice } = figures;
  const grams = `${units.scaleGrams(batch.part_a_g + batch.part_b_g, choice.scale_readability_g)} g`;
  return `${grams} ${batch.cups_each > 1 ? `in each of ${batch.cups_each} cups` : "together"}: ${sharesWords(batch.balance, choice.scale_readability_g)}`;
}

export function trueWords(figures: Figures): string {
  return `ratio true to ${plain(figures.batch.ratio_true_percent, 2)} % on a scale that shows ${shortest(figures.choice.scale_readability_g)} g`;
}

export function pressureWords(figures: Figures, system: System): string {
  const { pressure_kpa, strap_for_kpa } = figures.window;
  return `with about ${units.pressure(pressure_kpa, system)}; plan the straps for ${units.pressure(strap_for_kpa, system)}`;
}

// ---- clock ------------------------------------------------------------------------------------

// Whole seconds, as a clock on the wall shows them: a deadline is rounded down and the end of a
// step up, so that neither promises time that is not there.
export const downTo = (s: number) => Math.floor(s + 1e-9).toFixed(0);
export const upTo = (s: number) => Math.ceil(s - 1e-9).toFixed(0).replace("-0", "0");

export interface Moment {
  at_s: number;
  clock: string; // "12 to 17 s"
  what: string;
  step: Step | null;
  by: string; // "poured by 30 s"
  late: string;
}

const MOST_CUPS = 4;

// Of many cups the first two and the last.
function isTold(step: Step): boolean {
  const [, cup, cups] = step.name.match(/ cup (\d+) of (\d+)/) ?? [];
  return cups === undefined || Number(cups) <= MOST_CUPS || Number(cup) <= 2 || cup === cups;
}

// Steps and what the foam does, in order of time.
export function timeLine(figures: Figures): Moment[] {
  const { clock } = figures;
  if (!clock) return [];
  const moments: Moment[] = clock.chosen.steps.filter(isTold).map((step) => ({
    at_s: step.start_s,
    clock: `${upTo(step.start_s)} to ${upTo(step.end_s)} s`,
    what: step.name,
    step,
    by: step.deadline ? `${step.deadline} by ${downTo(step.by_s)} s` : "",
    late: step.deadline && step.end_s > step.by_s ? `TOO LATE by ${plain(step.end_s - step.by_s, 2)} s` : "",
  }));
  const event = (at_s: number, what: string) => moments.push({ at_s, clock: `${downTo(at_s)} s`, what, step: null, by: "", late: "" });
  if (clock.foam_at_top_s !== null) event(clock.foam_at_top_s, "foam at the highest vent");
  event(clock.most_pressure_s, clock.foam_at_top_s !== null ? "it presses most" : "it has risen");
  return moments.sort((p, q) => p.at_s - q.at_s);
}

export function spareWords(figures: Figures): string {
  const chosen = figures.clock?.chosen;
  if (!chosen) return "";
  const what = chosen.tightest === "covered" ? "the hole" : "it";
  return chosen.spare_s >= 0
    ? `${plain(chosen.spare_s, 2)} s, until ${what} must be ${chosen.tightest}`
    : `none: ${what} is ${chosen.tightest} ${plain(-chosen.spare_s, 2)} s TOO LATE`;
}

export function openWords(figures: Figures): string {
  return `${units.minutes(figures.clock?.demold_min_s ?? 0)} to ${units.minutes(figures.clock?.demold_max_s ?? 0)} min, when the leftover in the cup is firm`;
}
