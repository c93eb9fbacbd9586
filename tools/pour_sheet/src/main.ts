// SPDX-License-Identifier: GPL-3.0-or-later
// Puts the sheet together: reads what the program left in the page, shows it, and does grams and
// clock again whenever a knob is turned.
import { massOf, batchOf, clockOf, Refusal } from "./arithmetic";
import type { Batch, Choice, Clock, Mass } from "./arithmetic";
import * as blocks from "./blocks";
import { card as cardOf } from "./card";
import { el, replace } from "./elements";
import { modelBlock } from "./model";
import type { Live, SheetData } from "./sheet_data";
import type { System } from "./units";

export interface Figures {
  choice: Choice;
  changed: boolean;
  mass: Mass;
  batch: Batch;
  clock: Clock | null;
}

const data = JSON.parse(document.getElementById("sheet-data")?.textContent ?? "{}") as SheetData;
const live = data.live as Live;
const hasFoam = data.live.volume_mm3 !== undefined;

function planned(): Choice {
  return {
    density_kg_m3: null,
    waste_share: live.waste_share,
    copies: live.copies,
    scale_readability_g: live.scale_readability_g,
    temperature_c: live.bench?.temperature_c ?? 23,
  };
}

function computed(choice: Choice): Figures {
  const mass = massOf(live, choice);
  const batch = batchOf(live, choice, mass);
  const clock = live.bench ? clockOf(live.bench, choice, batch) : null;
  return { choice, changed: JSON.stringify(choice) !== JSON.stringify(planned()), mass, batch, clock };
}

function start(): void {
  const head = document.getElementById("head") as HTMLElement;
  const sheet = document.getElementById("sheet") as HTMLElement;
  const card = document.getElementById("card") as HTMLElement;
  let system: System = "metric";
  let figures = hasFoam ? computed(planned()) : null;

  const cup = el("section", { class: "cup", "aria-label": "What goes into the cup" });
  const clock = el("section", { class: "panel", id: "clock" });
  const lists = el("div", { class: "lists" });
  const message = el("p", { class: "message", role: "status", "aria-live": "polite" });
  const knobs = hasFoam
    ? blocks.knobs(live, message, {
        system: () => system,
        turned: (choice) => {
          try {
            figures = computed(choice);
            message.textContent = "";
            message.classList.remove("wrong");
            showFigures();
          } catch (error) {
            if (!(error instanceof Refusal)) throw error;
            message.textContent = error.message;
            message.classList.add("wrong");
          }
        },
        planned,
      })
    : null;
  const model = modelBlock(data, () => system);

  function showFigures(): void {
    if (figures) replace(cup, ...blocks.cup(data, live, figures, system));
    if (figures?.clock && live.bench) replace(clock, ...blocks.clock(figures.clock, live, figures.choice, system));
    replace(card, ...cardOf(data, live, figures, system));
  }

  function showAll(): void {
    replace(
      head,
      ...blocks.head(data, system, (chosen) => {
        system = chosen;
        showAll();
        document.getElementById(`units-${chosen}`)?.focus();
      }),
    );
    knobs?.refresh();
    model.refresh();
    replace(lists, ...blocks.lists(data, system, (place) => model.show(place)));
    showFigures();
  }

  replace(
    sheet,
    figures ? cup : null,
    el("div", { class: "columns" }, el("div", { class: "left" }, model.element), el("div", { class: "right" }, knobs?.element, figures?.clock ? clock : null)),
    lists,
    el("footer", {}, `Made by cavigram ${data.plan.program.version}. Needs no network; print it for the card.`),
  );
  showAll();
  model.begin();
  document.body.dataset.ready = "yes";
}

start();
