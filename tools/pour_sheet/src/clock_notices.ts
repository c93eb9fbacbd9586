// SPDX-License-Identifier: GPL-3.0-or-later
// What a person must know of the chosen way to pour: follows lib/cavigram/pour/bench_notes.cpp.
import type { BenchFigures, Quantity, Told } from "made/sheet_types";
import { type Budget, type Clock, type Method, firstThatFits } from "./clock";
import { type Notice, drill, general, own, setting, significant, told } from "./told";

const WORDS: Record<Method, string> = {
  through_hole: "pouring through the hole",
  open_half_and_turn: "pouring into the open half",
  brush_first: "brushing first",
};

// The next size up in half millimeters, as drills come.
export function holeWords(hole_mm: number): Quantity {
  const half = Math.ceil(2 * hole_mm - 1e-9) / 2;
  return { ...drill(half), digits: general(half).replace(".", "").length };
}

function joined(all: Told[]): Told {
  return all.flatMap((one, i) => (i === 0 ? one : [", ", ...one]));
}

// What helps with what is missed. Heating is never among it: it shortens every time.
function remedies(clock: Clock, bench: BenchFigures): Told {
  const { chosen } = clock;
  const help: Told[] = [];
  const other = firstThatFits(clock.methods);
  const hole = chosen.method === "through_hole";
  if (other) help.push(told`${WORDS[other.method]} fits (${setting("method")} ${other.method})`);
  if (!chosen.possible) {
    help.push([hole ? (bench.has_pour_hole ? "make the hole narrower" : "make a pour hole") : "part the mold so that this half holds more"]);
    return joined(help);
  }
  if (hole && clock.hole_needed_mm > bench.pour_hole_mm) help.push(told`make the hole ${holeWords(clock.hole_needed_mm)} wide`);
  if (clock.molds > 1) help.push(["pour less at once: fewer molds from one cup"]);
  if (clock.cups > 1) help.push(["let a second pair of hands stir the next cup meanwhile"]);
  else if (chosen.tightest !== "poured" || chosen.method === "brush_first") help.push(["have a second pair of hands"]);
  help.push(["take a slower foam"], ["or cool the liquids, with a trial in a cup first"]);
  return joined(help);
}

function pourSeconds(chosen: Budget): number {
  return chosen.steps.reduce((sum, step) => sum + (step.kind === "brush" || step.kind === "pour" ? step.seconds : 0), 0);
}

export function clockNotices(clock: Clock, bench: BenchFigures): Notice[] {
  const found: Notice[] = [];
  const { chosen } = clock;
  if (!chosen.possible || chosen.spare_s < 0) {
    const what = WORDS[chosen.method];
    found.push({
      severity: "stop",
      code: "no_time",
      text: told`${what[0]?.toUpperCase() ?? ""}${what.slice(1)} does not work out: ${chosen.why_not}; ${remedies(clock, bench)}.`,
    });
  } else if (chosen.spare_s < 0.1 * clock.work_time_s) {
    found.push({
      severity: "warning",
      code: "little_time",
      text: told`Only ${significant(chosen.spare_s, 2)} s are to spare until ${chosen.tightest === "covered" ? "the hole" : "it"} must be ${chosen.tightest}; rehearse the steps dry.`,
    });
  }
  const hole = chosen.method === "through_hole";
  if (hole && chosen.possible && chosen.spare_s < 0 && clock.hole_needed_mm > bench.pour_hole_mm) {
    found.push({
      severity: "warning",
      code: "pour_hole_narrow",
      text: told`The pour hole is too narrow: ${own(bench.pour_hole_mm, "length")} takes ${significant(pourSeconds(chosen), 3)} s; ${holeWords(clock.hole_needed_mm)} or wider would do.`,
    });
  }
  if (!hole) {
    found.push({
      severity: "note",
      code: "hold_while_turning",
      text: told`The halves are turned before they are strapped: hold them tight, with gloves on, by a quick clamp or a second pair of hands; a mold too heavy for that is strapped first (add its straps to ${setting("close")} and give ${setting("strap")} 0s).`,
    });
  }
  return found;
}
