// SPDX-License-Identifier: GPL-3.0-or-later
// Puts the sheet together: reads what the program left in the page, shows it, and does mix, grams,
// window and clock again whenever a knob is turned.
import { type Choice, LIVE_CODES, Refusal, type Result, resultOf } from "./arithmetic";
import { card as cardOf, isDense } from "./card";
import { clock as clockOf } from "./clock_block";
import { cup as cupOf, nowWords } from "./cup";
import { el, replace } from "./elements";
import { knobs as knobsOf } from "./knobs";
import { guesses as guessesOf, head as headOf, lists as listsOf } from "./lists";
import { modelBlock } from "./model";
import type { Finding, Live, SheetData } from "./sheet_data";
import type { System } from "./units";

export interface Figures extends Result {
  choice: Choice;
  changed: boolean; // any knob was turned
  moved: boolean; // that of the density
  findings: Finding[]; // the plan's, those that follow from a knob as they are now
  stops: Finding[];
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
    temperature_c: live.bench?.temperature_c ?? live.taken.at_c,
  };
}

function computed(choice: Choice): Figures {
  const result = resultOf(live, choice);
  const findings = [
    ...result.notices.map((notice) => ({ ...notice, at_mm: [] })),
    ...data.plan.findings.filter((finding) => !LIVE_CODES.includes(finding.code)),
  ];
  const order = { stop: 0, warning: 1, note: 2 };
  findings.sort((p, q) => order[p.severity] - order[q.severity]);
  return {
    ...result,
    choice,
    changed: JSON.stringify(choice) !== JSON.stringify(planned()),
    moved: choice.density_kg_m3 !== null,
    findings,
    stops: findings.filter((finding) => finding.severity === "stop"),
  };
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
  const guesses = el("section", { class: "panel guesses", "aria-label": "Guesses in this plan" });
  const message = el("p", { class: "message", role: "status", "aria-live": "polite" });
  const now = el("p", { class: "now" });
  const knobs = hasFoam
    ? knobsOf(live, message, now, {
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
    if (figures) {
      replace(cup, ...cupOf(data, live, figures, system));
      replace(now, figures.changed ? nowWords(figures) : null);
    }
    if (figures?.clock && live.bench) replace(clock, ...clockOf(figures, figures.clock, live.bench, system));
    replace(lists, ...listsOf(data, figures, system, (place) => model.show(place)));
    replace(guesses, ...guessesOf(data, figures?.moved ?? false));
    replace(card, ...cardOf(data, live, figures, system));
    card.classList.toggle("dense", isDense(data, figures));
    model.moved(figures?.moved ?? false);
  }

  function showAll(): void {
    replace(
      head,
      ...headOf(data, system, (chosen) => {
        system = chosen;
        showAll();
        document.getElementById(`units-${chosen}`)?.focus();
      }),
    );
    knobs?.refresh();
    model.refresh();
    showFigures();
  }

  replace(
    sheet,
    figures ? cup : null,
    el("div", { class: "columns" }, el("div", { class: "left" }, model.element), el("div", { class: "right" }, figures?.clock ? clock : null, knobs?.element)),
    lists,
    data.plan.guesses.length > 0 ? guesses : null,
    el("footer", {}, `Made by cavigram ${data.plan.program.version}. Needs no network; print it for the card.`),
  );
  showAll();
  model.begin();
  document.body.dataset.ready = "yes";
}

start();
