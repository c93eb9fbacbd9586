// SPDX-License-Identifier: GPL-3.0-or-later
// The card, for the printer: one page, black and white, with boxes to tick.
import { massRange, placeWords, upWords, whereOf } from "./blocks";
import { el } from "./elements";
import type { Figures } from "./main";
import { type Live, type SheetData, bytesOf } from "./sheet_data";
import * as units from "./units";
import type { System } from "./units";

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

let cardPictures: (HTMLImageElement | null)[] | null = null;

function checklist(live: Live, figures: Figures, system: System): HTMLElement[] {
  const { batch, choice, clock } = figures;
  const step = choice.scale_readability_g;
  const items: [string, string][] = [
    ["", "Gloves, eyes, ventilation. Mold clean, released, dry; vents open; straps at hand."],
    ["B", `Weigh B: ${units.scaleGrams(batch.part_b_g, step)} g, into a cup of ${units.milliliters(batch.cup_ml, system)} or more.`],
  ];
  if (live.pigment_share > 0) items.push(["", `Stir ${units.scaleGrams(batch.pigment_g, Math.min(step, 0.1))} g of pigment into B until even.`]);
  items.push(["A", `Weigh A: ${units.scaleGrams(batch.part_a_g, step)} g, apart.`]);
  if (clock) {
    let at = 0;
    for (const one of clock.chosen.steps) {
      items.push([`${at.toFixed(0)} s`, `${one.name[0]?.toUpperCase()}${one.name.slice(1)}, ${units.seconds(one.seconds)}${one.name === "stir" ? ": A into B, start the clock, scrape walls and floor" : ""}.`]);
      at += one.seconds;
    }
    items.push([`${clock.work_time_s.toFixed(0)} s`, `Work time ends at ${units.temperature(choice.temperature_c, system)}.`]);
    items.push(["", `Leave the cup beside the mold, open. Open after ${units.minutes(clock.demold_min_s)} to ${units.minutes(clock.demold_max_s)} min, when the leftover is firm.`]);
  }
  items.push(["", "Weigh what comes out, and log it: cavigram tally add."]);
  return items.map(([tag, words]) =>
    el("li", {}, el("span", { class: "box" }), el("span", { class: "tag-print" }, tag), el("span", {}, words)),
  );
}

export function card(data: SheetData, live: Live, figures: Figures | null, system: System): (Node | null)[] {
  cardPictures ??= [picture(data, 0), picture(data, 1)];
  const air = data.plan.air;
  const step = figures?.choice.scale_readability_g ?? 1;
  const big = (letterText: string, value: string, words: string) =>
    el("div", { class: "big" }, el("b", {}, letterText), el("span", {}, `${value} g`), el("i", {}, words));
  return [
    el("h1", {}, data.plan.input.file),
    figures
      ? el(
          "div",
          { class: "bigs" },
          big("A", units.scaleGrams(figures.batch.part_a_g, step), ""),
          big("B", units.scaleGrams(figures.batch.part_b_g, step), ""),
          live.pigment_share > 0 ? big("+", units.scaleGrams(figures.batch.pigment_g, Math.min(step, 0.1)), "pigment into B") : null,
        )
      : null,
    figures
      ? el(
          "p",
          { class: "line" },
          `Part ${massRange(data, figures, system)}; ${units.density(figures.mass.molded_density_kg_m3, system)}` +
            (figures.clock ? `; spare ${figures.clock.chosen.spare_s < 0 ? "NONE, TOO LATE" : units.seconds(figures.clock.chosen.spare_s)}` : "") +
            (figures.batch.batches > 1 ? `; ${figures.batch.batches} cups in all` : ""),
        )
      : null,
    air ? el("p", { class: "line" }, `Up: ${upWords(air.up)}. The pictures stand as it is poured.`) : null,
    el("div", { class: "pictures" }, ...cardPictures),
    air
      ? el(
          "table",
          {},
          el("tbody", {}, ...data.display.marks.slice(0, 8).map((mark) =>
            el(
              "tr",
              {},
              el("th", {}, mark.pour_hole ? `Pour hole ${mark.label}` : `Vent ${mark.label}`),
              el("td", {}, placeWords(mark.at_mm, whereOf(data, mark))),
              el("td", {}, mark.diameter_mm > 0 ? units.length(mark.diameter_mm, system) : ""),
            ),
          )),
        )
      : null,
    figures ? el("ol", { class: "boxes" }, ...checklist(live, figures, system)) : null,
    el("p", { class: "blanks" }, "Date ________  Room ____ \u00b0  Cup ______ g  Part out ______ g  By ______________"),
    el("div", { class: "small" }, ...data.plan.cautions.map((text) => el("p", {}, text))),
  ].filter((node) => node !== null);
}
