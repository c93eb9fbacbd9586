// SPDX-License-Identifier: GPL-3.0-or-later
// The time line of one pour with the deadlines that the foam sets: follows
// lib/cavigram/foam/kinetics.cpp (RiseClock) and pour/bench.cpp.
import type { BenchFigures, BenchStep, Live, MethodBudget, MixCard, SheetMethod, Told } from "made/sheet_types";
import type { Choice } from "./arithmetic";
import type { Batch } from "./batch";
import { pourFlow_ml_s } from "./flow";
import type { Mass } from "./foam";
import { atTemperature } from "./mix";
import { Refusal, own, significant, told } from "./told";

export type Deadline = MethodBudget["tightest"];
export type Method = SheetMethod["method"];
type StepKind = BenchStep["kind"];
type Curve = MixCard["curve"];

export interface Step extends BenchStep {
  by_s: number; // 0 without a deadline
  cup: number; // of the cups of one pour; 0: no cup's own
}

export interface Budget extends Omit<MethodBudget, "steps" | "why_not"> {
  steps: Step[];
  why_not: Told; // empty where it fits
}

export interface Clock {
  work_time_s: number;
  by_s: Record<Deadline, number>;
  foam_at_top_s: number | null;
  most_pressure_s: number;
  demold_min_s: number;
  demold_max_s: number;
  hole_needed_mm: number;
  cups: number;
  molds: number;
  chosen: Budget;
  methods: Budget[];
}

// ---- the rise ---------------------------------------------------------------------------------

function straightened(curve: Curve, share: number): number {
  if (curve === "gompertz") return -Math.log(-Math.log(share));
  return curve === "first_order" ? -Math.log1p(-share) : Math.log(share / (1 - share));
}

// When foam whose final volume is Vf fills a room of a share of Vf.
function riseClock(curve: Curve, work: number, risen: number, expansion: number, risenShare: number) {
  if (!(work > 0 && risen > work)) throw new Refusal(told`The foam's rise does not come after its work time: correct its card.`);
  if (!(expansion * risenShare > 1)) throw new Refusal(told`At this density the foam would hardly rise: nothing can be timed.`);
  const start = straightened(curve, 1 / expansion);
  const rate = (straightened(curve, risenShare) - start) / (risen - work);
  return (share: number): number => {
    if (share >= risenShare) return risen;
    if (share * expansion <= 1) return work;
    return work + (straightened(curve, share) - start) / rate;
  };
}

// ---- one method -------------------------------------------------------------------------------

interface Pour {
  bench: BenchFigures;
  by_s: Record<Deadline, number>;
  cups: number;
  molds: number;
  mold_mm3: number; // of liquid in this part's mold
  hole_s: (hole_mm: number) => number; // one cup through holes, one mold after another
}

class Line {
  readonly steps: Step[] = [];
  total_s = 0;
  spare_s = Infinity;
  tightest: Deadline = "poured";

  constructor(private readonly by_s: Record<Deadline, number>) {}

  add(kind: StepKind, name: string, seconds: number, deadline: Deadline | null = null, cup = 0): void {
    const step = { kind, name, seconds, start_s: this.total_s, end_s: this.total_s + seconds, deadline, by_s: 0, cup };
    if (deadline) {
      step.by_s = this.by_s[deadline];
      if (step.by_s - step.end_s < this.spare_s) {
        this.spare_s = step.by_s - step.end_s;
        this.tightest = deadline;
      }
    }
    this.total_s = step.end_s;
    this.steps.push(step);
  }
}

function whyImpossible(method: Method, { bench, mold_mm3 }: Pour): Told {
  if (method === "through_hole") {
    if (!bench.has_pour_hole) return told`the mold has no pour hole`;
    return bench.widest_hole_mm !== null && bench.pour_hole_mm > bench.widest_hole_mm
      ? told`a hole of ${own(bench.pour_hole_mm, "length")} is wider than the part, ${own(bench.widest_hole_mm, "length")}`
      : [];
  }
  return bench.open_half_mm3 > 0 && mold_mm3 > bench.open_half_mm3
    ? told`the open half holds ${significant(bench.open_half_mm3 / 1000, 3)} mL and the liquid has ${significant(mold_mm3 / 1000, 3)}`
    : [];
}

function whyLate(line: Line, cups: number): Told {
  const late = [...line.steps].reverse().find((step) => step.deadline === line.tightest) as Step;
  const which = line.tightest === "poured" && cups > 1 ? `the last of ${cups} cups is ` : "";
  return told`${which}${line.tightest} at ${significant(late.end_s, 3)} s, ${significant(-line.spare_s, 2)} s too late`;
}

function budgetOf(method: Method, pour: Pour): Budget {
  const { bench, cups, molds } = pour;
  const line = new Line(pour.by_s);
  const hole = method === "through_hole";
  const several = molds > 1;
  const where = hole ? `through the hole${several ? "s" : ""}` : several ? "into the open halves" : "into the open half";
  for (let cup = 1; cup <= cups; ++cup) {
    const which = cups > 1 ? ` cup ${cup} of ${cups}` : "";
    line.add("stir", `stir${which}`, bench.stir_s, null, cup);
    if (method === "brush_first" && cup === 1) line.add("brush", "brush both halves", bench.area_mm2 / 100 / bench.brush_cm2_s);
    line.add("pour", `pour${which} ${where}`, hole ? pour.hole_s(bench.pour_hole_mm) : bench.empty_cup_s * molds, "poured", cup);
  }
  const all = several ? ` ${molds} molds` : "";
  if (hole) {
    line.add("cover", several ? "cover the holes" : "cover the hole", molds * bench.plug_s, "covered");
  } else {
    line.add("close", `close${all}`, molds * bench.close_s, "closed");
    line.add("turn", `turn${all} over, halves held tight`, molds * bench.turn_s, "turned");
    line.add("strap", `strap${all}`, molds * bench.strap_s, "strapped");
  }
  const impossible = whyImpossible(method, pour);
  return {
    method,
    steps: line.steps,
    total_s: line.total_s,
    spare_s: line.spare_s,
    tightest: line.tightest,
    possible: impossible.length === 0,
    why_not: impossible.length > 0 ? impossible : line.spare_s < 0 ? whyLate(line, cups) : [],
  };
}

// ---- all of it --------------------------------------------------------------------------------

const METHODS: Method[] = ["through_hole", "open_half_and_turn", "brush_first"];
const PREFERRED: Method[] = ["open_half_and_turn", "through_hole", "brush_first"];

export function firstThatFits(methods: Budget[]): Budget | undefined {
  return PREFERRED.map((method) => methods.find((b) => b.method === method)).find((b) => b && b.possible && b.spare_s >= 0);
}

function chosenOf(methods: Budget[], asked: Method | null): Budget {
  const of = (method: Method) => methods.find((b) => b.method === method) as Budget;
  if (asked) return of(asked);
  const fitting = firstThatFits(methods);
  if (fitting) return fitting;
  // None fits: the one that misses by least.
  const possible = methods.filter((b) => b.possible);
  return possible.reduce<Budget | null>((best, b) => (best === null || b.spare_s > best.spare_s ? b : best), null) ?? of("through_hole");
}

// The hole through which the pour takes just the time that is left; 0 if none does that fits.
function holeNeeded({ bench, by_s, cups, molds, hole_s }: Pour): number {
  const left = Math.min(by_s.poured, by_s.strapped - molds * bench.plug_s) - cups * bench.stir_s;
  let high = bench.widest_hole_mm ?? 500;
  if (left <= 0 || cups * hole_s(high) > left) return 0;
  let low = 0.1;
  while (high - low > 1e-6) {
    const middle = 0.5 * (low + high);
    if (cups * hole_s(middle) > left) low = middle;
    else high = middle;
  }
  return high;
}

function deadlines(live: Live, bench: BenchFigures, mass: Mass, fills: (share: number) => number, work: number): Record<Deadline, number> {
  const final = mass.packing_factor * live.volume_mm3;
  const full = fills(1 / mass.packing_factor);
  return {
    poured: work,
    closed: bench.open_half_mm3 > 0 && final > 0 ? fills(bench.open_half_mm3 / final) : work,
    turned: work + bench.turn_grace_s,
    strapped: full,
    covered: full,
  };
}

export function clockOf(live: Live, bench: BenchFigures, choice: Choice, mass: Mass, batch: Batch, card: MixCard): Clock {
  const today = (seconds: number) => atTemperature(card, seconds, choice.temperature_c, bench.trusted_step_k);
  const work = today(card.work_time_s);
  const risen = today(card.rise_time_s);
  const fills = riseClock(card.curve, work, risen, batch.liquid_kg_m3 / mass.free_rise_kg_m3, bench.risen_share);
  if (card.demold_min_s < card.rise_time_s) throw new Refusal(told`The mold would be opened before the foam has risen: correct its card.`);
  const by_s = deadlines(live, bench, mass, fills, work);
  const liquid = { density_kg_m3: batch.liquid_kg_m3, viscosity_pa_s: bench.viscosity_pa_s ?? card.viscosity_pa_s };
  const molds = live.molds;
  const cup_ml = ((batch.part_a_g + batch.part_b_g) / batch.liquid_kg_m3) * 1000;
  const pour: Pour = {
    bench,
    by_s,
    cups: batch.cups_each,
    molds,
    mold_mm3: (mass.part_mass_g / batch.liquid_kg_m3) * 1e6,
    hole_s: (hole) =>
      Math.max(cup_ml / pourFlow_ml_s(hole, bench.hole_length_mm, liquid, bench.funnel_head_mm), bench.empty_cup_s * molds),
  };
  const methods = METHODS.map((method) => budgetOf(method, pour));
  return {
    work_time_s: work,
    by_s,
    foam_at_top_s: mass.packing_factor >= 1 - 1e-9 ? by_s.strapped : null,
    most_pressure_s: risen,
    demold_min_s: Math.max(card.demold_min_s, today(card.demold_min_s)),
    demold_max_s: Math.max(card.demold_max_s, today(card.demold_max_s)),
    hole_needed_mm: holeNeeded(pour),
    cups: batch.cups_each,
    molds,
    chosen: chosenOf(methods, bench.method),
    methods,
  };
}
