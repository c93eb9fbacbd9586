// SPDX-License-Identifier: GPL-3.0-or-later
// The fields in which a person changes a figure.
import type { Choice } from "./arithmetic";
import { el, replace } from "./elements";
import type { Live } from "./sheet_data";
import * as units from "./units";
import type { System } from "./units";

export interface KnobHost {
  system: () => System;
  turned: (choice: Choice) => void;
  planned: () => Choice;
}

type Take = (value: number) => Partial<Choice>;

function fixedWords(live: Live): string {
  const fixed = [
    live.density_fixed ? "the density (what the plan was asked for leaves it no choice)" : "",
    live.waste_film ? `what stays in the cup (a film, ${units.significant(live.waste_film.stays_g, 3)} g of ${units.significant(live.waste_film.of_g, 3)} g)` : "",
  ].filter((one) => one !== "");
  return fixed.length > 0 ? ` Settled by the plan: ${fixed.join("; ")}.` : "";
}

// `now` holds what comes out, since the grams may be out of sight up there.
export function knobs(live: Live, message: HTMLElement, now: HTMLElement, host: KnobHost) {
  const form = el("form", { class: "panel knobs", "aria-label": "Change a figure", submit: (event) => event.preventDefault() });
  let choice = host.planned();

  const input = (id: string, label: string, value: string, options: Record<string, string | boolean>, take: Take) => {
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
        choice = { ...choice, ...take(number) };
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
    const tidy = (value: number) => String(Number(value.toPrecision(4)));
    const back = () => {
      choice = host.planned();
      refresh();
      host.turned(choice);
      document.getElementById("knob-back")?.focus();
    };
    replace(
      form,
      el("h2", {}, "Change a figure"),
      el("p", { class: "hint" }, `Mix, grams, window, drills and clock follow at once. Where holes are, thin places and colors stay as planned.${fixedWords(live)}`),
      input("knob-density", us ? "Density of the part, lb/ft\u00b3" : "Density of the part, kg/m\u00b3", tidy(shownDensity), { min: "0", disabled: live.density_fixed }, (value) => ({ density_kg_m3: value * perUnit })),
      input("knob-waste", "Stays in the cup, %", live.waste_film ? "" : tidy(100 * choice.waste_share), { min: "0", max: "90", disabled: live.waste_film !== null }, (value) => ({ waste_share: value / 100 })),
      input("knob-copies", "Copies", String(choice.copies), { min: "1", step: "1" }, (value) => ({ copies: value })),
      input("knob-scale", "Scale shows, g", tidy(choice.scale_readability_g), { min: "0" }, (value) => ({ scale_readability_g: value })),
      live.bench
        ? input("knob-temperature", us ? "Temperature, \u00b0F" : "Temperature, \u00b0C", tidy(shownTemperature), {}, (value) => ({ temperature_c: us ? (value - 32) / 1.8 : value }))
        : null,
      el("button", { type: "button", id: "knob-back", click: back }, "Back to the plan"),
      message,
      now,
    );
  }
  return { element: form, refresh };
}
