// SPDX-License-Identifier: GPL-3.0-or-later
// The clock as a time line: what to do from when to when, by when at the latest, and what the foam
// does meanwhile.
import type { Clock } from "./clock";
import { drillWords } from "./clock_notices";
import { el } from "./elements";
import type { Figures } from "./main";
import { plain } from "./notices";
import type { BenchFigures } from "./sheet_data";
import * as units from "./units";
import type { System } from "./units";
import { METHOD_WORDS, type Moment, SHORT_METHODS, openWords, spareWords, timeLine } from "./words";

// One line's stretch of time, with its deadline as a gate.
function track(moment: Moment, whole: number): HTMLElement {
  const bar = el("div", { class: "track", "aria-hidden": "true" });
  const at = (s: number) => `${(100 * s) / whole}%`;
  const { step } = moment;
  const piece = el("div", { class: step ? (moment.late ? "piece over" : "piece") : "event" });
  piece.style.left = at(moment.at_s);
  if (step) piece.style.width = at(step.seconds);
  bar.append(piece);
  if (step?.deadline) {
    const gate = el("div", { class: "gate" });
    gate.style.left = at(step.by_s);
    bar.append(gate);
  }
  return bar;
}

function line(moment: Moment, whole: number): HTMLElement {
  return el(
    "li",
    { class: moment.step ? "step" : "foam" },
    el("span", { class: "when" }, moment.clock),
    el("span", { class: "doing" }, moment.what),
    moment.by ? el("span", { class: "by" }, moment.by) : null,
    moment.late ? el("strong", { class: "late" }, moment.late) : null,
    track(moment, whole),
  );
}

function otherMethods(clock: Clock): HTMLElement {
  return el(
    "ul",
    { class: "others" },
    ...clock.methods
      .filter((method) => method.method !== clock.chosen.method)
      .map((method) =>
        el("li", {}, SHORT_METHODS[method.method] + (method.why_not === "" ? ` fits, with ${plain(method.spare_s, 2)} s to spare` : ` does not fit: ${method.why_not}`)),
      ),
  );
}

export function clock(figures: Figures, clock: Clock, bench: BenchFigures, system: System): (Node | null)[] {
  const moments = timeLine(figures);
  const whole = Math.max(...moments.map((m) => Math.max(m.at_s, m.step?.end_s ?? 0, m.step?.by_s ?? 0))) * 1.02;
  const late = clock.chosen.spare_s < 0;
  return [
    el("h2", {}, "Clock"),
    el("p", {}, `${units.seconds(clock.work_time_s)} of work time at ${units.temperature(figures.choice.temperature_c, system)}, from the start of stirring.`),
    el("p", {}, `Pour ${METHOD_WORDS[clock.chosen.method]}.`),
    el("ol", { class: "time-line" }, ...moments.map((moment) => line(moment, whole))),
    el("p", { class: late ? "late" : "spare-line" }, el("strong", {}, "Spare: "), `${spareWords(figures)}.`),
    el("p", {}, el("strong", {}, "Open after "), `${openWords(figures)}.`),
    clock.hole_needed_mm > 0 && bench.has_pour_hole
      ? el("p", {}, `Pour hole: any of ${drillWords(clock.hole_needed_mm)} or wider lets the liquid in on time; the times above are for ${plain(bench.pour_hole_mm, 3)} mm.`)
      : null,
    el("p", { class: "hint" }, "The other ways:"),
    otherMethods(clock),
  ];
}
