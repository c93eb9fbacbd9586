// SPDX-License-Identifier: GPL-3.0-or-later
// Head and lists of the sheet. A block whose stage did not run is absent, not empty.
import { el } from "./elements";
import type { Figures } from "./main";
import type { Finding, Mark, Place, SheetData } from "./sheet_data";
import * as units from "./units";
import type { System } from "./units";
import { afterWords, drillOf, letter, placeWords, whereOf } from "./words";

export function head(data: SheetData, system: System, choose: (system: System) => void): Node[] {
  const { input, measures } = data.plan;
  const size = measures.bounds_max_mm.map((high, i) => high - (measures.bounds_min_mm[i] as number));
  const sides = (per: number) => size.map((s) => units.significant(s / per, 3)).join(" \u00d7 ");
  const sizeWords = system === "metric" ? `${sides(1)} mm (${sides(25.4)} in)` : `${sides(25.4)} in (${sides(1)} mm)`;
  const button = (one: System, words: string) =>
    el(
      "button",
      { type: "button", id: `units-${one}`, "aria-pressed": String(system === one), click: () => choose(one) },
      words,
    );
  return [
    el("div", { class: "name" }, el("p", { class: "kind" }, "Pour sheet"), el("h1", {}, input.file), el("p", {}, sizeWords)),
    el(
      "div",
      { class: "units", role: "group", "aria-label": "Which units come first" },
      button("metric", "metric first"),
      button("us", "US first"),
    ),
  ];
}

const REASONS = {
  all_skin: "all skin: stiff, no cushion",
  hard_to_fill: "hard for foam to enter",
  below_limit: "below the limit asked for",
};

function placeButton(words: string, act: () => void): HTMLElement {
  return el("button", { type: "button", class: "go", title: "show on the part", click: act }, words);
}

function holeRow(data: SheetData, mark: Mark, figures: Figures | null, system: System, show: (place: Place) => void): HTMLElement {
  const vent = mark.pour_hole ? undefined : data.plan.air?.vents[Number(mark.label) - 1];
  return el(
    "tr",
    {},
    el("th", { scope: "row" }, el("span", { class: mark.pour_hole ? "tag pour_hole" : "tag vent" }, mark.label)),
    el("td", {}, placeButton(placeWords(mark.at_mm, whereOf(data, mark)), () => show(mark.at_mm)), mark.pour_hole ? el("span", { class: "after" }, afterWords(data, mark, figures, system)) : null),
    el("td", {}, mark.plugged ? "" : drillOf(mark, figures, system)),
    el("td", {}, !vent || vent.given ? "" : units.volume(vent.frees_mm3, system)),
  );
}

function airWords(data: SheetData, system: System): string {
  const air = data.plan.air;
  if (!air) return "";
  if (data.plan.findings.some((finding) => finding.code === "no_opening")) return "No opening yet: without a vent all air stays.";
  if (air.pockets.length === 0) return `Air: ${air.trapped_unvented_mm3 === 0 ? "none" : "none worth a vent"} ${air.vents.length > 0 ? "would stay without the vents given" : "stays"}.`;
  return `Air that stays: ${units.volume(air.trapped_vented_mm3, system)} with these, ${units.volume(air.trapped_unvented_mm3, system)} without vents.`;
}

function holesPanel(data: SheetData, figures: Figures | null, system: System, show: (place: Place) => void): HTMLElement | null {
  const air = data.plan.air;
  if (!air) return null;
  return el(
    "section",
    { class: "panel" },
    el("h2", {}, "Pour hole and vents"),
    data.display.marks.length > 0
      ? el(
          "table",
          {},
          el("thead", {}, el("tr", {}, ...["", "Where", "Drill", "Air it frees"].map((name) => el("th", { scope: "col" }, name)))),
          el("tbody", {}, ...data.display.marks.map((mark) => holeRow(data, mark, figures, system, show))),
        )
      : null,
    air.pour_hole_after === "none" ? el("p", {}, "No pour hole: the liquid goes into the open half.") : null,
    el("p", {}, airWords(data, system)),
  );
}

function thinPanel(data: SheetData, moved: boolean, system: System, show: (place: Place) => void): HTMLElement | null {
  const thin = data.plan.thin;
  if (!thin) return null;
  const shown = thin.regions.slice(0, 26);
  const items = shown.map((region, i) =>
    el(
      "li",
      {},
      el("span", { class: "tag thin" }, letter(i)),
      " ",
      placeButton(placeWords(region.at_mm, region.where), () => show(region.at_mm)),
      ` down to ${units.length(region.least_mm, system)} over ${units.area(region.area_mm2, system)}: ${REASONS[region.reason]}`,
    ),
  );
  return el(
    "section",
    { class: "panel" },
    el("h2", {}, moved ? "Thin places, for the skin as planned" : "Thin places"),
    shown.length === 0
      ? el("p", {}, `Nowhere thinner than ${units.length(thin.limit_mm, system)}.`)
      : el("ul", { class: "places" }, ...items),
    thin.regions.length > shown.length
      ? el("p", {}, `${thin.regions.length - shown.length} more are in plan.json.`)
      : null,
  );
}

function mendingPanel(data: SheetData, system: System): HTMLElement {
  const { repair, input, measures } = data.plan;
  const range =
    measures.volume_high_mm3 > measures.volume_low_mm3
      ? `, likely ${units.significant(measures.volume_low_mm3 / 1000, 4)} to ${units.significant(measures.volume_high_mm3 / 1000, 4)} cm\u00b3`
      : ", exact for this mesh";
  return el(
    "section",
    { class: "panel" },
    el("h2", {}, "The file"),
    el("p", {}, `${input.triangles.toLocaleString("en-US")} triangles, ${input.format}, ${input.units}. Volume ${units.volume(measures.volume_mm3, system)}${range}; area ${units.area(measures.area_mm2, system)}.`),
    el("p", {}, repair.verdict === "sound" ? "Sound: closed, and every face looks outward; nothing was changed." : `Made sound (${repair.verdict}):`),
    repair.verdict !== "sound" && repair.steps.length > 0
      ? el(
          "ul",
          {},
          ...repair.steps.map((step) =>
            el(
              "li",
              {},
              `${step.action.replaceAll("_", " ")}: ${step.count.toLocaleString("en-US")}` +
                (step.volume_below_mm3 + step.volume_above_mm3 > 0
                  ? `; the volume could be ${units.significant(step.volume_below_mm3 / 1000, 2)} cm\u00b3 less or ${units.significant(step.volume_above_mm3 / 1000, 2)} more`
                  : ""),
            ),
          ),
        )
      : null,
  );
}

const SEVERITY = { note: "Note", warning: "Warning", stop: "Stop" };
// Of the plan, these rest on its own density.
const AS_PLANNED = ["all_skin", "pour_hole_narrow_for_air"];

function findingsPanel(findings: Finding[], moved: boolean, show: (place: Place) => void): HTMLElement | null {
  if (findings.length === 0) return null;
  return el(
    "section",
    { class: "panel" },
    el("h2", {}, "Notices"),
    el(
      "ul",
      { class: "findings" },
      ...findings.map((finding) => {
        const at = finding.at_mm[0];
        const planned = moved && AS_PLANNED.includes(finding.code) ? " (as planned)" : "";
        return el(
          "li",
          { class: finding.severity },
          el("strong", {}, `${SEVERITY[finding.severity]}${planned}: `),
          finding.text,
          at ? placeButton(" show", () => show(at)) : null,
        );
      }),
    ),
  );
}

export function lists(data: SheetData, figures: Figures | null, system: System, show: (place: Place) => void): (Node | null)[] {
  const { plan } = data;
  const moved = figures?.moved ?? false;
  return [
    holesPanel(data, figures, system, show),
    thinPanel(data, moved, system, show),
    findingsPanel(figures?.findings ?? plan.findings, moved, show),
    mendingPanel(data, system),
    plan.cautions.length > 0
      ? el("section", { class: "panel cautions" }, el("h2", {}, "Cautions"), ...plan.cautions.map((text) => el("p", {}, text)))
      : null,
  ];
}

// What nobody measured, once, at the end.
export function guesses(data: SheetData, moved: boolean): (Node | null)[] {
  const { guesses } = data.plan;
  if (guesses.length === 0) return [];
  return [
    el("h2", {}, "Guesses in this plan"),
    moved ? el("p", { class: "hint" }, "Values as planned.") : null,
    el(
      "table",
      {},
      el("thead", {}, el("tr", {}, ...["What", "Taken as", "Yours with"].map((name) => el("th", { scope: "col" }, name)))),
      el("tbody", {}, ...guesses.map((guess) => el("tr", {}, el("th", { scope: "row" }, guess.what), el("td", {}, guess.value), el("td", {}, guess.replace_with)))),
    ),
  ];
}
