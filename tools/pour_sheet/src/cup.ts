// SPDX-License-Identifier: GPL-3.0-or-later
// What a person sees first: what goes into the cup, or why nothing does; the window of the pour;
// and the facts that they rest on.
import { el, row } from "./elements";
import type { PourWindow } from "./foam";
import type { Figures } from "./main";
import { mixWords, plain } from "./notices";
import type { Live, SheetData } from "./sheet_data";
import * as units from "./units";
import type { System } from "./units";
import * as words from "./words";

function grams(letter: string, value: string, what: string, extra = ""): HTMLElement {
  return el(
    "div",
    { class: `grams ${extra}` },
    el("span", { class: "letter" }, letter),
    el("span", { class: "number" }, value, el("span", { class: "unit" }, "g")),
    el("span", { class: "what" }, what),
  );
}

// A stop takes the grams away: why, and what would do.
function stopped(figures: Figures): HTMLElement {
  return el(
    "div",
    { class: "stopped" },
    el("span", { class: "letter", "aria-hidden": "true" }, "!"),
    el("strong", {}, "Nothing to pour yet"),
    ...figures.stops.map((stop) => el("p", {}, stop.text)),
  );
}

function weights(live: Live, figures: Figures): HTMLElement {
  const { batch, choice, clock } = figures;
  const step = choice.scale_readability_g;
  const spare = clock?.chosen;
  return el(
    "div",
    { class: "weights" },
    grams("A", units.scaleGrams(batch.part_a_g, step), "into its own cup"),
    grams("B", units.scaleGrams(batch.part_b_g, step), "into the mixing cup"),
    live.pigment_share > 0
      ? grams("\u25cf", units.scaleGrams(batch.pigment_g, Math.min(step, 0.1)), "pigment, stirred into B", "pigment")
      : null,
    spare
      ? el(
          "div",
          { class: "grams spare" },
          el("span", { class: "letter dial", "aria-hidden": "true" }),
          el("span", { class: "number" }, plain(spare.spare_s, 2), el("span", { class: "unit" }, "s")),
          el("span", { class: "what" }, `to spare, until ${spare.tightest === "covered" ? "the hole" : "it"} must be ${spare.tightest}`),
        )
      : null,
  );
}

// ---- the window -------------------------------------------------------------------------------

export function windowVerdict(w: PourWindow): { good: boolean; words: string } {
  const hard = w.planned_g > w.presses_over_g * (1 + 1e-12);
  const short = w.planned_g < w.fills_from_high_g * (1 - 1e-12);
  if (hard) return { good: false, words: short ? "may fall short, and presses too hard" : "presses too hard" };
  return short ? { good: false, words: "may fall short if the foam rises little" } : { good: true, words: "fills, and the mold holds" };
}

function windowBar(w: PourWindow): HTMLElement {
  const all = [w.fills_from_low_g, w.fills_from_high_g, w.planned_g, w.presses_over_g];
  const pad = 0.12 * (Math.max(...all) - Math.min(...all));
  const least = Math.min(...all) - pad;
  const span = Math.max(...all) + pad - least;
  const at = (g: number) => (100 * (g - least)) / span;
  // A zone's name keeps out of the planned mark's way.
  const zone = (name: string, from: number, to: number, text: string) => {
    const side = at(w.planned_g) > 0.5 * (at(from) + at(to)) ? "start" : "end";
    const piece = el("div", { class: `zone ${name}` }, at(to) - at(from) > 8 ? el("span", { class: side }, text) : null);
    piece.style.left = `${at(from)}%`;
    piece.style.width = `${Math.max(0, at(to) - at(from))}%`;
    return piece;
  };
  const mark = (name: string, g: number) => {
    const line = el("div", { class: `at-gram ${name}` });
    line.style.left = `${at(g)}%`;
    return line;
  };
  return el(
    "div",
    { class: "window-bar", "aria-hidden": "true" },
    zone("empty", least, w.fills_from_low_g, "too little"),
    zone("perhaps", w.fills_from_low_g, w.fills_from_high_g, "may fall short"),
    zone("good", w.fills_from_high_g, Math.max(w.fills_from_high_g, w.presses_over_g), "good"),
    zone("hard", w.presses_over_g, least + span, "too hard"),
    mark("fills", w.fills_from_g),
    mark("presses", w.presses_over_g),
    mark("planned", w.planned_g),
  );
}

function windowBlock(live: Live, figures: Figures): HTMLElement {
  const w = figures.window;
  const verdict = windowVerdict(w);
  const three = (g: number) => plain(g, 3);
  const figure = (name: string, label: string, value: number, more: string) =>
    el("div", { class: `figure ${name}` }, el("span", { class: "name" }, label), el("span", { class: "value" }, three(value), el("span", { class: "unit" }, "g")), el("span", { class: "more" }, more));
  return el(
    "section",
    { class: "panel window", "aria-labelledby": "window-name" },
    el("h2", { id: "window-name" }, "Window ", el("span", { class: "hint" }, `grams in ${live.molds > 1 ? "this part's mold" : "the mold"}: weigh the cup before and after pouring`)),
    el(
      "div",
      { class: "figures" },
      figure("fills", "Fills from", w.fills_from_g, `${three(w.fills_from_low_g)} to ${three(w.fills_from_high_g)}`),
      figure("planned", "Planned", w.planned_g, `${verdict.good ? "\u2713" : "!"} ${verdict.words}`),
      figure("presses", "Presses too hard over", w.presses_over_g, `the mold is taken to hold ${units.significant(w.mold_holds_kpa, 2)} kPa`),
    ),
    windowBar(w),
  );
}

// ---- the facts --------------------------------------------------------------------------------

function skinWords(data: SheetData, figures: Figures, system: System): string {
  const { mass } = figures;
  const foam = data.plan.foam;
  if (mass.skin_volume_mm3 === 0) return "none: the foam just fills the mold";
  const amount = `at ${units.density(mass.skin_density_kg_m3, system)}: ${units.significant(mass.skin_mass_g, 3)} g in ${units.volume(mass.skin_volume_mm3, system)}`;
  if (!foam || (figures.moved && !foam.skin_measured)) return amount;
  const spread = foam.skin_thickness_high_mm > 1.005 * foam.skin_thickness_low_mm;
  return (
    units.length(foam.skin_thickness_mm, system) +
    (spread ? `, likely ${plain(foam.skin_thickness_low_mm, 2)} to ${plain(foam.skin_thickness_high_mm, 2)} mm` : "") +
    `${foam.skin_measured ? ", as measured" : ", from the packing"}, ${amount}`
  );
}

function handWords(data: SheetData, system: System): string | null {
  const map = data.plan.foam?.density_map;
  if (!map) return null;
  const skin = map.all_skin_area_mm2 === 0 ? "all skin nowhere" : `all skin (stiff, no cushion) on ${units.area(map.all_skin_area_mm2, system)}`;
  return `${units.density(map.median_kg_m3, system)} beneath the surface, on 80 % of it ${units.significant(map.p10_kg_m3, 3)} to ${units.significant(map.p90_kg_m3, 3)} kg/m\u00b3; ${skin}`;
}

function kitWords(figures: Figures): string {
  const { batch, card } = figures;
  return `a kit makes ${Math.floor(batch.copies_per_kit)} copies` + (batch.cost_per_copy > 0 ? `, at ${batch.cost_per_copy.toFixed(2)} ${card.currency} each` : "");
}

// The plan's card, at the mix that is taken now.
function cardName(name: string, figures: Figures): string {
  return figures.moved && figures.mix_chosen ? `${name.replace(/ at [\d.]+:[\d.]+$/, "")} at ${mixWords(figures.card)}` : name;
}

function facts(data: SheetData, live: Live, figures: Figures, system: System): HTMLElement {
  const { batch, choice, mass } = figures;
  const { plan } = data;
  const pours = figures.stops.length === 0;
  const step = choice.scale_readability_g;
  const other = pours ? words.otherMixWords(figures) : null;
  const hand = figures.moved || !pours ? null : handWords(data, system);
  const core = mass.skin_volume_mm3 === 0 ? "throughout" : `${units.significant(mass.core_mass_g, 3)} g`;
  return el(
    "dl",
    { class: "facts" },
    row("Mix", words.mixLine(figures, live.air_kpa, system), other ? el("span", { class: "other" }, other) : null),
    pours ? row("Pour", words.togetherWords(figures)) : null,
    pours ? row("Scale", `${words.trueWords(figures)}; cup of ${units.cup(batch.cup_ml, system)} or more`) : null,
    pours && batch.batches > 1
      ? row("In all", `${batch.batches} cups: A ${units.scaleGrams(batch.total_a_g, step)} g, B ${units.scaleGrams(batch.total_b_g, step)} g`)
      : null,
    pours && batch.copies_per_kit > 0 ? row("Kit", kitWords(figures)) : null,
    pours ? row("Part", words.partWords(data, figures, system)) : row("Asked for", `a part of ${units.density(mass.molded_density_kg_m3, system)}`),
    pours ? row("Skin", skinWords(data, figures, system)) : null,
    pours ? row("Core", `${units.density(mass.core_density_kg_m3, system)}, ${core}`) : null,
    hand ? row("To the hand", hand) : null,
    pours ? row("Presses", words.pressureWords(figures, system)) : null,
    pours && plan.finish
      ? row("Finish", `${units.mass(plan.finish.grams * choice.copies, system)} of dusted pigment or paint for ${choice.copies > 1 ? "all copies" : units.area(plan.finish.area_mm2, system)}`)
      : null,
    ...(plan.foam?.also ?? []).map((also) => row("Together", `with ${also.file}`)),
    plan.foam ? row("Rests on", cardName(plan.foam.card, figures) + (plan.foam.isocyanate_index && !figures.moved ? `, index ${plain(plan.foam.isocyanate_index, 3)}` : "")) : null,
    plan.air ? row("Way up", words.upWords(plan.air.up)) : null,
  );
}

// The outcome in one line.
export function nowWords(figures: Figures): string {
  const { batch, choice } = figures;
  const grams = (g: number) => `${units.scaleGrams(g, choice.scale_readability_g)} g`;
  const [stop] = figures.stops;
  return stop ? `Nothing to pour yet: ${stop.text}` : `Now A ${grams(batch.part_a_g)}, B ${grams(batch.part_b_g)}; ${windowVerdict(figures.window).words}.`;
}

export function cup(data: SheetData, live: Live, figures: Figures, system: System): Node[] {
  const first = figures.stops.length > 0 ? [stopped(figures)] : [weights(live, figures), windowBlock(live, figures)];
  return [...first, facts(data, live, figures, system)];
}
