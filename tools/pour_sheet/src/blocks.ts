// SPDX-License-Identifier: GPL-3.0-or-later
// The blocks of the sheet. A block whose stage did not run is absent, not empty.
import type { Choice, Clock, Step } from "./arithmetic";
import { el, replace, row } from "./elements";
import type { Figures } from "./main";
import type { Finding, Live, Mark, Method, Place, SheetData } from "./sheet_data";
import * as units from "./units";
import type { System } from "./units";

const METHOD_WORDS: Record<Method, string> = {
  through_hole: "through the pour hole of the closed mold",
  open_half_and_turn: "into the open half; close, strap, turn over",
  brush_first: "brush both halves, pour into the open one; close, strap, turn over",
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

export function head(data: SheetData, system: System, choose: (system: System) => void): Node[] {
  const { input, measures } = data.plan;
  const size = measures.bounds_max_mm.map((high, i) => high - (measures.bounds_min_mm[i] as number));
  const sizeWords =
    system === "metric"
      ? `${size.map((s) => units.significant(s, 3)).join(" \u00d7 ")} mm (${size.map((s) => units.significant(s / 25.4, 3)).join(" \u00d7 ")} in)`
      : `${size.map((s) => units.significant(s / 25.4, 3)).join(" \u00d7 ")} in (${size.map((s) => units.significant(s, 3)).join(" \u00d7 ")} mm)`;
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

// ---- the cup ----------------------------------------------------------------------------------

function grams(letter: string, value: string, what: string, extra = ""): HTMLElement {
  return el(
    "div",
    { class: `grams ${extra}` },
    el("span", { class: "letter" }, letter),
    el("span", { class: "number" }, value, el("span", { class: "unit" }, "g")),
    el("span", { class: "what" }, what),
  );
}

export function massRange(data: SheetData, figures: Figures, system: System): string {
  const { mass, choice } = figures;
  const spread = mass.part_mass_high_g - mass.part_mass_low_g > 1e-9 * mass.part_mass_g;
  const goal = choice.density_kg_m3 !== null || data.plan.foam?.basis === "molded";
  const words = units.mass(mass.part_mass_g, system);
  if (spread) {
    return `${words}, likely ${units.significant(mass.part_mass_low_g, 3)} to ${units.significant(mass.part_mass_high_g, 3)} g`;
  }
  return goal ? `${words}, the goal itself: weigh the first one` : words;
}

function feelWords(map: NonNullable<NonNullable<SheetData["plan"]["foam"]>["density_map"]>, system: System): string {
  const share = (100 * map.all_skin_area_mm2) / map.area_mm2;
  const skin = share < 0.05 ? "all skin nowhere" : `all skin on ${units.significant(share, 2)} % of the surface: stiff, no cushion`;
  return `${units.density(map.median_kg_m3, system)} beneath the surface, ${units.significant(map.p10_kg_m3, 3)} to ${units.significant(map.p90_kg_m3, 3)} kg/m\u00b3 on 80 % of it; ${skin}`;
}

export function cup(data: SheetData, live: Live, figures: Figures, system: System): (Node | null)[] {
  const { batch, mass, choice, clock } = figures;
  const step = choice.scale_readability_g;
  const pigment = live.pigment_share > 0;
  const several = batch.batches > 1;
  const spare = clock?.chosen.spare_s;
  const late = spare !== undefined && (spare < 0 || !clock?.chosen.possible);
  return [
    el(
      "div",
      { class: "weights" },
      grams("A", units.scaleGrams(batch.part_a_g, step), "into its own cup"),
      grams("B", units.scaleGrams(batch.part_b_g, step), "into the mixing cup"),
      pigment
        ? grams("\u25cf", units.scaleGrams(batch.pigment_g, Math.min(step, 0.1)), "pigment, stirred into B", "pigment")
        : null,
      clock
        ? el(
            "div",
            { class: late ? "grams spare late" : "grams spare" },
            late ? el("span", { class: "letter" }, "!") : el("span", { class: "letter dial", "aria-hidden": "true" }),
            el(
              "span",
              { class: "number" },
              late ? "TOO LATE" : units.significant(spare ?? 0, 2),
              late ? null : el("span", { class: "unit" }, "s"),
            ),
            el(
              "span",
              { class: "what" },
              late
                ? clock.chosen.possible
                  ? `by ${units.seconds(-(spare ?? 0))}: it foams in your hands`
                  : "the open half can't hold the liquid"
                : "to spare of the work time",
            ),
          )
        : null,
    ),
    el(
      "dl",
      { class: "facts" },
      row(
        "Mix",
        `${live.mix_a}:${live.mix_b} by weight, ${units.mass(batch.part_a_g + batch.part_b_g, system)} together` +
          (several ? `; ${batch.batches} cups in all: A ${units.scaleGrams(batch.total_a_g, step)} g, B ${units.scaleGrams(batch.total_b_g, step)} g` : ""),
      ),
      row("Waste", `${units.mass(batch.waste_g, system)} stays in the cup; cup of ${units.milliliters(batch.cup_ml, system)} or more`),
      row(
        "Scale",
        `ratio true to ${units.significant(batch.ratio_uncertainty_percent, 2)} % on a scale that shows ${step} g` +
          (batch.too_small_for_scale ? `; too coarse: use one that shows ${batch.scale_needed_g} g, or pour at least ${units.significant(batch.least_batch_g, 3)} g` : ""),
      ),
      row("Part", massRange(data, figures, system)),
      row("Density", `${units.density(mass.molded_density_kg_m3, system)}, the finished part's mean` + (mass.skin_thinned ? "; a typical skin is too heavy for it, the low end is used" : "")),
      data.plan.foam
        ? row("Foam", data.plan.foam.card + (data.plan.foam.typical_values ? " (typical values: a guess for your foam)" : ""))
        : null,
      data.plan.foam?.density_map ? row("To the hand", feelWords(data.plan.foam.density_map, system)) : null,
      data.plan.air ? row("Way up", upWords(data.plan.air.up)) : null,
      batch.copies_per_kit > 0
        ? row(
            "Kit",
            `${units.significant(batch.copies_per_kit, 3)} copies` +
              (batch.cost_per_copy > 0 ? `, ${batch.cost_per_copy.toFixed(2)} ${live.currency} each` : ""),
          )
        : null,
    ),
  ];
}

// ---- the knobs --------------------------------------------------------------------------------

interface KnobHost {
  system: () => System;
  turned: (choice: Choice) => void;
  planned: () => Choice;
}

export function knobs(live: Live, message: HTMLElement, host: KnobHost) {
  const form = el("form", { class: "panel knobs", "aria-label": "Change a figure", submit: (event) => event.preventDefault() });
  let choice = host.planned();

  const input = (id: string, label: string, value: string, options: Record<string, string | boolean>, take: (value: number) => void) => {
    const field = el("input", {
      id,
      type: "number",
      inputmode: "decimal",
      value,
      step: "any",
      ...options,
      input: (event) => {
        const number = (event.target as HTMLInputElement).valueAsNumber;
        if (Number.isNaN(number)) {
          message.textContent = `${label}: give a number.`;
          message.classList.add("wrong");
          return;
        }
        take(number);
        host.turned(choice);
      },
    });
    return el("div", { class: "knob" }, el("label", { for: id }, label), field);
  };

  function refresh(): void {
    const us = host.system() === "us";
    const perUnit = us ? units.KG_M3_PER_LB_FT3 : 1;
    const shownDensity = (choice.density_kg_m3 ?? live.density_kg_m3) / perUnit;
    const shownTemperature = us ? choice.temperature_c * 1.8 + 32 : choice.temperature_c;
    const tidy = (value: number, digits: number) => String(Number(value.toPrecision(digits)));
    replace(
      form,
      el("h2", {}, "Change a figure"),
      el("p", { class: "hint" }, "Grams and clock follow at once. Skin, air and vents stay as planned."),
      input(
        "knob-density",
        us ? "Density, lb/ft\u00b3" : "Density, kg/m\u00b3",
        tidy(shownDensity, 4),
        { min: "0", disabled: live.density_fixed },
        (value) => (choice = { ...choice, density_kg_m3: value * perUnit }),
      ),
      input("knob-waste", "Stays in the cup, %", tidy(100 * choice.waste_share, 4), { min: "0", max: "90" }, (value) => (choice = { ...choice, waste_share: value / 100 })),
      input("knob-copies", "Copies", String(choice.copies), { min: "1", step: "1" }, (value) => (choice = { ...choice, copies: value })),
      input("knob-scale", "Scale shows, g", tidy(choice.scale_readability_g, 4), { min: "0" }, (value) => (choice = { ...choice, scale_readability_g: value })),
      live.bench
        ? input("knob-temperature", us ? "Temperature, \u00b0F" : "Temperature, \u00b0C", tidy(shownTemperature, 4), {}, (value) => (choice = { ...choice, temperature_c: us ? (value - 32) / 1.8 : value }))
        : null,
      el(
        "button",
        {
          type: "button",
          id: "knob-back",
          click: () => {
            choice = host.planned();
            refresh();
            host.turned(choice);
            document.getElementById("knob-back")?.focus();
          },
        },
        "Back to the plan",
      ),
      message,
    );
  }
  return { element: form, refresh };
}

// ---- the clock --------------------------------------------------------------------------------

function timeBar(steps: Step[], workTime: number): HTMLElement {
  const total = steps.reduce((sum, step) => sum + step.seconds, 0);
  const whole = Math.max(total, workTime);
  const bar = el("div", { class: "bar", "aria-hidden": "true" });
  steps.forEach((step, i) => {
    const piece = el("div", { class: `piece tone${i % 4}` }, el("span", {}, String(i + 1)));
    piece.style.width = `${(100 * step.seconds) / whole}%`;
    bar.append(piece);
  });
  const end = el("div", { class: "end" });
  end.style.left = `${(100 * workTime) / whole}%`;
  bar.append(end);
  return bar;
}

export function clock(clock: Clock, live: Live, choice: Choice, system: System): Node[] {
  let at = 0;
  const steps = clock.chosen.steps.map((step) => {
    const item = el("li", {}, `${step.name}, ${units.seconds(step.seconds)}`, el("span", { class: "at" }, `from ${at.toFixed(0)} s`));
    at += step.seconds;
    return item;
  });
  return [
    el("h2", {}, "Clock"),
    el(
      "p",
      {},
      `${units.seconds(clock.work_time_s)} of work time at ${units.temperature(choice.temperature_c, system)}, from the start of stirring. Pour ${METHOD_WORDS[clock.chosen.method]}.`,
    ),
    timeBar(clock.chosen.steps, clock.work_time_s),
    el("ol", { class: "steps" }, ...steps),
    el(
      "p",
      { class: clock.chosen.spare_s < 0 ? "late" : "" },
      clock.chosen.spare_s < 0
        ? `TOO LATE by ${units.seconds(-clock.chosen.spare_s)}.`
        : `Done at ${units.seconds(clock.chosen.total_s)}; ${units.seconds(clock.chosen.spare_s)} to spare.`,
    ),
    el("p", {}, `Open after ${units.minutes(clock.demold_min_s)} to ${units.minutes(clock.demold_max_s)} min, when the leftover in the cup is firm.`),
    ...(live.bench && live.bench.temperature_c !== choice.temperature_c ? [el("p", { class: "hint" }, "The time is carried over from the card's temperature by its rule.")] : []),
  ];
}

// ---- the lists --------------------------------------------------------------------------------

const REASONS = {
  all_skin: "all skin: stiff, no cushion",
  hard_to_fill: "hard for foam to enter",
  below_limit: "below the limit asked for",
};

function placeButton(words: string, act: () => void): HTMLElement {
  return el("button", { type: "button", class: "go", title: "show on the part", click: act }, words);
}

// By ruler, as the program says it.
export function whereOf(data: SheetData, mark: Mark): string | undefined {
  const air = data.plan.air;
  if (!mark.pour_hole) return air?.vents[Number(mark.label) - 1]?.where;
  const holes = air?.openings.filter((opening) => opening.kind === "pour_hole") ?? [];
  return holes[Number(mark.label.slice(1) || "1") - 1]?.where;
}

function ventsPanel(data: SheetData, system: System, show: (place: Place) => void): HTMLElement | null {
  const air = data.plan.air;
  if (!air) return null;
  const rows = data.display.marks.map((mark) => {
    const vent = air.vents[Number(mark.label) - 1];
    const where = whereOf(data, mark);
    return el(
      "tr",
      {},
      el("th", { scope: "row" }, el("span", { class: mark.pour_hole ? "tag pour_hole" : "tag vent" }, mark.label)),
      el("td", {}, placeButton(placeWords(mark.at_mm, where), () => show(mark.at_mm))),
      el("td", {}, mark.diameter_mm > 0 ? units.length(mark.diameter_mm, system) : ""),
      el("td", {}, mark.pour_hole || !vent || vent.given ? "" : units.volume(vent.frees_mm3, system)),
    );
  });
  return el(
    "section",
    { class: "panel" },
    el("h2", {}, "Pour hole and vents"),
    el(
      "table",
      {},
      el("thead", {}, el("tr", {}, ...["", "Where", "Drill", "Air it frees"].map((name) => el("th", { scope: "col" }, name)))),
      el("tbody", {}, ...rows),
    ),
    el(
      "p",
      {},
      air.trapped_unvented_mm3 > 0
        ? `Air that stays: ${units.volume(air.trapped_vented_mm3, system)} with these, ${units.volume(air.trapped_unvented_mm3, system)} with the pour hole alone.`
        : "No air stays with the pour hole alone.",
    ),
  );
}

function thinPanel(data: SheetData, system: System, show: (place: Place) => void): HTMLElement | null {
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
    el("h2", {}, "Thin places"),
    shown.length === 0
      ? el("p", {}, `Nowhere thinner than ${units.length(thin.limit_mm, system)}.`)
      : el("ul", { class: "places" }, ...items),
    thin.regions.length > shown.length
      ? el("p", {}, `${thin.regions.length - shown.length} more are in plan.json.`)
      : null,
  );
}

export function letter(i: number): string {
  return String.fromCharCode(97 + i);
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

function findingsPanel(findings: Finding[], show: (place: Place) => void): HTMLElement | null {
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
        return el(
          "li",
          { class: finding.severity },
          el("strong", {}, `${SEVERITY[finding.severity]}: `),
          finding.text,
          at ? placeButton(" show", () => show(at)) : null,
        );
      }),
    ),
  );
}

export function lists(data: SheetData, system: System, show: (place: Place) => void): (Node | null)[] {
  const { plan } = data;
  return [
    ventsPanel(data, system, show),
    thinPanel(data, system, show),
    mendingPanel(data, system),
    findingsPanel(plan.findings, show),
    plan.cautions.length > 0
      ? el("section", { class: "panel cautions" }, el("h2", {}, "Cautions"), ...plan.cautions.map((text) => el("p", {}, text)))
      : null,
  ].filter((panel) => panel !== null);
}
