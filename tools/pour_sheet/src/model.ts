// SPDX-License-Identifier: GPL-3.0-or-later
// The part in 3D with its controls; where there is no WebGL, the program's own pictures.
import { picture } from "./card";
import { el, replace } from "./elements";
import type { Coloring, Place, SheetData, WayUp } from "./sheet_data";
import * as units from "./units";
import type { System } from "./units";
import { type CutAxis, type ShownMark, Viewer } from "./viewer";
import { letter, upWords } from "./words";

function legend(coloring: Coloring, map: number[], system: System): HTMLElement {
  const color = (step: number) => `#${(map[step] ?? 0).toString(16).padStart(6, "0")}`;
  if (coloring.classes) {
    return el(
      "div",
      { class: "legend classes" },
      ...coloring.classes.map((name, i) => {
        const chip = el("span", { class: "chip" });
        chip.style.background = color(255 * i);
        return el("span", {}, chip, name);
      }),
    );
  }
  const strip = el("div", { class: "strip" });
  strip.style.background = `linear-gradient(to right, ${[0, 51, 102, 153, 204, 255].map(color).join(", ")})`;
  const words = (value: number) =>
    coloring.unit === "mm" ? units.length(value, system) : coloring.unit === "kg/m3" ? units.density(value, system) : `${units.significant(value, 3)} ${coloring.unit}`;
  return el(
    "div",
    { class: "legend" },
    el("span", {}, words(coloring.least)),
    strip,
    el("span", {}, `${words(coloring.most)}${coloring.most_is_cap ? " or more" : ""}`),
  );
}

export function modelBlock(data: SheetData, system: () => System) {
  const { display, plan } = data;
  const stage = el("div", { class: "stage" });
  const tools = el("div", { class: "tools" });
  const under = el("div", { class: "under" });
  const ways = el("div", { class: "ways" });
  const element = el("section", { class: "panel model", "aria-label": "The part" }, el("h2", {}, "The part, as it is poured"), ways, stage, under, tools);
  const plannedUp: Place = plan.air?.up ?? [0, 0, 1];
  const sameWay = (way: WayUp) => way.up.reduce((sum, c, i) => sum + c * (plannedUp[i] as number), 0) > 0.999999;
  let viewer: Viewer | null = null;
  let coloring: Coloring | null = display.colorings[0] ?? null;
  let axis: CutAxis = "none";
  let share = 0.5;
  let liquid = false;
  let up = plannedUp;
  let moved = false; // the density is another one than the colors and the level were made for

  const planned = (): boolean => up === plannedUp;
  const level = (): number | null => (liquid && !moved && planned() && plan.bench ? plan.bench.liquid_depth_mm : null);
  const asPlanned = (one: Coloring): string => (moved && one.key !== "thickness" ? `${one.title}, as planned` : one.title);

  function marksShown(way: WayUp | null): ShownMark[] {
    const thin: ShownMark[] = (plan.thin?.regions ?? []).slice(0, 26).map((region, i) => ({ kind: "thin", label: letter(i), at_mm: region.at_mm, diameter_mm: 0 }));
    if (way && !sameWay(way)) {
      let number = 0;
      const holes: ShownMark[] = (data.ways[(plan.orientations ?? []).indexOf(way)] ?? []).map((hole) => ({
        kind: hole.kind,
        label: hole.kind === "pour_hole" ? "P" : String(++number),
        at_mm: hole.at_mm,
        diameter_mm: 0,
      }));
      return [...holes, ...thin];
    }
    const holes: ShownMark[] = display.marks.map((mark) => ({
      kind: mark.pour_hole ? "pour_hole" : "vent",
      label: mark.label,
      at_mm: mark.at_mm,
      diameter_mm: mark.diameter_mm,
    }));
    return [...holes, ...thin];
  }

  function stand(way: WayUp | null): void {
    up = way && !sameWay(way) ? way.up : plannedUp;
    viewer?.stands(up, display.front);
    viewer?.markedWith(marksShown(way), up);
    viewer?.cutAt(axis, share);
    viewer?.liquidAt(level());
  }

  function wayRow(): void {
    const rows = plan.orientations ?? [];
    if (rows.length === 0) return;
    const about = el("p", { class: "about", role: "status" });
    const tell = (way: WayUp) => {
      const mine = sameWay(way) ? "As planned here. " : "";
      about.textContent = `${mine}${upWords(way.up)} up, ${units.length(way.height_mm, system())} high: ${way.reasons.join("; ")}; may lean ${units.significant(way.forgiven_lean_deg, 2)}\u00b0.`;
    };
    const buttons = rows.map((way) => {
      const words = `${way.rank}${way.asked ? " (as asked)" : way.as_the_file_stands ? " (as the file stands)" : ""}${sameWay(way) ? " \u2713" : ""}`;
      return el(
        "button",
        {
          type: "button",
          "aria-pressed": String(sameWay(way) && planned()),
          "aria-label": `Way up ${words}`,
          click: (event) => {
            for (const other of buttons) other.setAttribute("aria-pressed", String(other === event.currentTarget));
            tell(way);
            stand(way);
          },
        },
        words,
      );
    });
    const current = rows.find(sameWay);
    if (current) tell(current);
    replace(ways, el("span", { class: "label", id: "ways-label" }, "Ways up, best first"), el("div", { class: "choices", role: "group", "aria-labelledby": "ways-label" }, ...buttons), about);
  }

  function toolRow(): void {
    const radio = (name: string, words: string, checked: boolean, act: () => void) => {
      const id = `${name}-${words.replaceAll(/\W+/g, "-")}`;
      return el("span", { class: "choice" }, el("input", { type: "radio", name, id, checked, change: act }), el("label", { for: id }, words));
    };
    const slider = el("input", {
      type: "range", min: "0", max: "1", step: "0.01", value: String(share), id: "cut-at", "aria-label": "Where the cut is", disabled: axis === "none",
      input: (event) => {
        share = (event.target as HTMLInputElement).valueAsNumber;
        viewer?.cutAt(axis, share);
      },
    });
    const view = (words: string, azimuth: number, elevation: number) =>
      el("button", { type: "button", click: () => viewer?.seenFrom(azimuth, elevation) }, words);
    const cutWords: [CutAxis, string][] = [["none", "whole"], ["left-right", "across"], ["front-back", "from the front"], ["height", "by height"]];
    replace(
      tools,
      el("fieldset", {}, el("legend", {}, "Surface"),
        radio("surface", "plain", coloring === null, () => color(null)),
        ...display.colorings.map((one) => radio("surface", asPlanned(one), coloring === one, () => color(one)))),
      el("fieldset", {}, el("legend", {}, "Cut"),
        ...cutWords.map(([one, words]) => radio("cut", words, axis === one, () => {
          axis = one;
          slider.disabled = axis === "none";
          viewer?.cutAt(axis, share);
        })), slider),
      el("fieldset", {}, el("legend", {}, "View"),
        view("front", 0, 0), view("right", Math.PI / 2, 0), view("above", 0, Math.PI / 2), view("corner", 0.5, 0.35),
        plan.bench && plan.bench.liquid_depth_mm > 0 && !moved
          ? el("span", { class: "choice" },
              el("input", { type: "checkbox", id: "liquid", checked: liquid, change: (event) => {
                liquid = (event.target as HTMLInputElement).checked;
                viewer?.liquidAt(level());
              } }),
              el("label", { for: "liquid" }, `liquid before it rises, ${units.length(plan.bench.liquid_depth_mm, system())} deep`))
          : null),
    );
  }

  function color(chosen: Coloring | null): void {
    coloring = chosen;
    viewer?.colored(chosen);
    replace(under, chosen ? legend(chosen, display.color_map, system()) : null,
      el("p", { class: "hint" }, `Drag or arrow keys turn, + and \u2212 zoom, Home resets. P: pour hole (funnel); numbers: vents (rods); letters: thin places (diamonds). Shown with ${display.triangles.toLocaleString("en-US")} triangles${display.deviation_mm > 0 ? `, within ${units.length(display.deviation_mm, system())} of the part` : ""}.`));
  }

  return {
    element,
    refresh(): void {
      wayRow();
      if (viewer) {
        toolRow();
        color(coloring);
      }
    },
    moved(now: boolean): void {
      if (now === moved) return;
      moved = now;
      if (!viewer) return;
      toolRow();
      viewer.liquidAt(level());
    },
    show(place: Place): void {
      viewer?.lookAt(place);
      stage.scrollIntoView({ block: "nearest" });
      viewer?.canvas.focus({ preventScroll: true });
    },
    begin(): void {
      try {
        viewer = new Viewer(stage, display, `${plan.input.file} in 3D, standing as it is poured; arrow keys turn it`);
      } catch {
        stage.classList.add("flat");
        replace(stage, ...data.pictures.map((_, i) => picture(data, i)));
        replace(under, el("p", { class: "hint" }, "This browser shows no 3D (WebGL is off), so here are pictures made by the program."));
        return;
      }
      stand(null);
      toolRow();
      color(coloring);
    },
  };
}
