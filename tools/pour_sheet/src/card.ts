// SPDX-License-Identifier: GPL-3.0-or-later
// The card, for the printer: one page, black and white, with boxes to tick in order of time.
import { windowVerdict } from "./cup";
import { el } from "./elements";
import type { Figures } from "./main";
import { plain } from "./notices";
import { type Live, type SheetData, bytesOf } from "./sheet_data";
import * as units from "./units";
import type { System } from "./units";
import * as words from "./words";

export function picture(data: SheetData, i: number): HTMLImageElement | null {
  const one = data.pictures[i];
  if (!one) return null;
  // The picture is an SVG of our own; as an image it can run nothing.
  const url = URL.createObjectURL(new Blob([bytesOf(one.svg)], { type: "image/svg+xml" }));
  const marks = data.display.marks.map((m) => (m.pour_hole ? "pour hole" : `vent ${m.label}`)).join(", ");
  const img = el("img", { src: url, alt: `The part ${one.title.toLowerCase()}${marks ? `, with ${marks} marked` : ""}` });
  // All pictures have one scale, so that side by side their widths go by the part's.
  img.style.flex = `${one.width} 1 0`;
  return img;
}

const MOST_HOLES = 8;
let cardPictures: (HTMLImageElement | null)[] | null = null;

function stepWords(moment: words.Moment): string {
  const what = `${moment.what[0]?.toUpperCase()}${moment.what.slice(1)}`;
  const more = moment.step?.kind === "stir" && moment.at_s === 0 ? ": A into B, start the clock, scrape walls and floor" : "";
  return `${what}${more}${moment.by ? `; ${moment.by}` : ""}${moment.late ? `: ${moment.late}` : ""}.`;
}

// What is done before the clock runs, by the clock, and afterwards.
function checklist(data: SheetData, live: Live, figures: Figures, system: System): HTMLElement[] {
  const { batch, choice, clock } = figures;
  const step = choice.scale_readability_g;
  const items: [string, string, boolean][] = [
    ["", "Gloves, eyes, ventilation. Mold clean, released, dry; straps at hand; vents open.", true],
    ["B", `Weigh B: ${units.scaleGrams(batch.part_b_g, step)} g, into a cup of ${units.cup(batch.cup_ml, system)} or more.`, true],
  ];
  if (live.pigment_share > 0) items.push(["+", `Stir ${units.scaleGrams(batch.pigment_g, Math.min(step, 0.1))} g of pigment into B until even.`, true]);
  items.push(["A", `Weigh A: ${units.scaleGrams(batch.part_a_g, step)} g, apart.`, true]);
  for (const moment of words.timeLine(figures)) items.push([moment.clock.replace(" to ", "\u2013"), stepWords(moment), moment.step !== null]);
  if (clock) {
    const hole = clock.chosen.method === "through_hole" ? (data.plan.air?.pour_hole_after === "plugged" ? "The pour hole stays plugged, vents open. " : "Vents and the cover's hole stay open. ") : "";
    items.push(["", `${hole}Leave the cup beside it, open.`, true]);
    items.push([`${units.minutes(clock.demold_min_s)} min`, `Open after ${words.openWords(figures)}.`, true]);
  }
  items.push(["", "Weigh what comes out, and log it: cavigram tally add.", true]);
  return items.map(([tag, text, tick]) =>
    el("li", {}, el("span", { class: tick ? "box" : "nobox" }, tick ? null : "\u25b8"), el("span", { class: "tag-print" }, tag), el("span", {}, text)),
  );
}

function big(letter: string, value: string, what = ""): HTMLElement {
  return el("div", { class: what ? "big more" : "big" }, el("b", {}, letter), el("span", {}, `${value} g`), el("i", {}, what));
}

function amounts(live: Live, figures: Figures): HTMLElement[] {
  const { batch, choice, window: w } = figures;
  const step = choice.scale_readability_g;
  const three = (g: number) => `${plain(g, 3)} g`;
  const cell = (name: string, value: string, more: string) => el("div", {}, el("span", {}, name), el("b", {}, value), el("i", {}, more));
  const verdict = windowVerdict(w);
  return [
    el(
      "div",
      { class: "bigs" },
      big("A", units.scaleGrams(batch.part_a_g, step)),
      big("B", units.scaleGrams(batch.part_b_g, step)),
      live.pigment_share > 0 ? big("+", units.scaleGrams(batch.pigment_g, Math.min(step, 0.1)), "pigment") : null,
    ),
    el(
      "div",
      { class: "card-window" },
      cell("In the mold: fills from", three(w.fills_from_g), `${plain(w.fills_from_low_g, 3)} to ${plain(w.fills_from_high_g, 3)}`),
      cell("planned", three(w.planned_g), `${verdict.good ? "" : "! "}${verdict.words}`),
      cell("presses too hard over", three(w.presses_over_g), `straps for ${plain(w.strap_for_kpa, 2)} kPa`),
    ),
    el("p", { class: "line" }, `${words.togetherWords(figures)}${batch.batches > 1 ? `; ${batch.batches} cups in all` : ""}; ${words.trueWords(figures)}.`),
  ];
}

function holes(data: SheetData, figures: Figures | null, system: System): HTMLElement | null {
  const { marks } = data.display;
  if (marks.length === 0) return null;
  const rows = marks.slice(0, MOST_HOLES).map((mark) => {
    const after = mark.pour_hole ? `: ${words.afterWords(data, mark, figures, system)}` : "";
    return el(
      "tr",
      {},
      el("th", {}, mark.pour_hole ? `Pour hole ${mark.label}` : `Vent ${mark.label}`),
      el("td", {}, words.placeWords(mark.at_mm, words.whereOf(data, mark)) + after),
      el("td", { class: "drill" }, mark.pour_hole ? "" : `drill ${words.drillOf(mark, figures, system)}`),
    );
  });
  return el("table", { class: rows.length > 4 ? "many" : "" }, el("tbody", {}, ...rows));
}

// All on one page: where there is much to tell, smaller.
export function isDense(data: SheetData, figures: Figures | null): boolean {
  const steps = figures ? words.timeLine(figures).length : 0;
  const warnings = (figures?.findings ?? []).filter((one) => one.severity === "warning").length;
  return steps + 2 * (Math.min(data.display.marks.length, MOST_HOLES) + warnings) > 16;
}

export function card(data: SheetData, live: Live, figures: Figures | null, system: System): (Node | null)[] {
  cardPictures ??= [picture(data, 0), picture(data, 1)];
  const { air, program, cautions } = data.plan;
  const pours = figures && figures.stops.length === 0;
  const told = (figures?.findings ?? data.plan.findings).filter((one) => one.severity === "warning");
  return [
    el("h1", {}, data.plan.input.file),
    figures
      ? el(
          "p",
          { class: "line" },
          `Mix ${words.chosenMixWords(figures)}; part ${pours ? words.partWords(data, figures, system) : `of ${units.density(figures.mass.molded_density_kg_m3, system)}`}; ${units.temperature(figures.choice.temperature_c, system)}.` +
            ` Plan by cavigram ${program.version}${figures.changed ? ", figures changed in the page" : ""}.`,
        )
      : el("p", { class: "line" }, `Plan by cavigram ${program.version}.`),
    ...(figures && pours ? amounts(live, figures) : []),
    figures && !pours ? el("div", { class: "card-stop" }, el("b", {}, "Nothing to pour yet"), ...figures.stops.map((stop) => el("p", {}, stop.text))) : null,
    el("div", { class: "pictures" }, ...cardPictures),
    air ? el("p", { class: "line" }, `Up: ${words.upWords(air.up)}. The pictures stand as it is poured.${air.pour_hole_after === "none" ? " No pour hole: the liquid goes into the open half." : ""}`) : null,
    air ? holes(data, figures, system) : null,
    figures && pours && figures.clock ? el("p", { class: "line" }, el("b", {}, "Pour "), `${words.METHOD_WORDS[figures.clock.chosen.method]}. `, el("b", {}, "Spare "), `${words.spareWords(figures)}.`) : null,
    figures && pours ? el("ol", { class: "boxes" }, ...checklist(data, live, figures, system)) : null,
    figures && !pours ? null : el("p", { class: "blanks" }, "Date _______  Room ___ \u00b0  Cup _____ g  In the mold _____ g  Part out _____ g  By _______"),
    el("div", { class: "small" }, ...told.map((one) => el("p", {}, el("b", {}, "Warning: "), one.text)), ...cautions.map((text) => el("p", {}, text))),
  ].filter((node) => node !== null);
}
