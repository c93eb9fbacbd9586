// SPDX-License-Identifier: GPL-3.0-or-later
// Pointer and keys on the part, before the viewer's own: a click that does something to it, the brush,
// and turning by keys.
import type { Place } from "made/sheet_types";
import type { Hit, TurnViewer } from "./turn_viewer";

export type Touch = "turn" | "pour-hole" | "vent" | "show" | "ruler";

interface Does {
  touch: () => Touch;
  clicked: (hit: Hit) => void;
  painted: (low: Place, high: Place) => void; // the box around all of a stroke
}

const STILL_PX = 5; // a click may tremble so far
const BRUSH = 0.03; // of the stage's width, either way
const STEP = (5 * Math.PI) / 180;
const SMALL_STEP = Math.PI / 180;
const KEYS: Record<string, [number, number]> = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

// Gives what ends it.
export function listenTo(viewer: TurnViewer, stage: HTMLElement, does: Does): () => void {
  const ending = new AbortController();
  const first = { capture: true, signal: ending.signal };
  let from: { x: number; y: number } | null = null;
  let stroke: { low: Place; high: Place } | null = null;
  const share = (event: PointerEvent) => {
    const box = stage.getBoundingClientRect();
    return { x: (event.clientX - box.left) / box.width, y: (event.clientY - box.top) / box.height, narrow: box.width / box.height };
  };
  const paint = (event: PointerEvent) => {
    const { x, y, narrow } = share(event);
    for (const [u, v] of [[0, 0], [1, 0], [-1, 0], [0, 1], [0, -1], [0.7, 0.7], [-0.7, 0.7], [0.7, -0.7], [-0.7, -0.7]] as const) {
      const at = viewer.hit(x + u * BRUSH, y + v * BRUSH * narrow)?.at_mm;
      if (!at) continue;
      stroke ??= { low: [...at], high: [...at] };
      for (const k of [0, 1, 2] as const) {
        stroke.low[k] = Math.min(stroke.low[k], at[k]);
        stroke.high[k] = Math.max(stroke.high[k], at[k]);
      }
    }
  };
  // A level side has no thickness, and a box needs some.
  const AROUND_MM = 0.5;
  const painted = () => {
    if (stroke) does.painted(stroke.low.map((x) => x - AROUND_MM) as Place, stroke.high.map((x) => x + AROUND_MM) as Place);
    stroke = null;
  };
  stage.addEventListener("pointerdown", (event) => {
    from = { x: event.clientX, y: event.clientY };
    if (does.touch() !== "show") return;
    event.stopPropagation();
    viewer.canvas.focus({ preventScroll: true });
    viewer.canvas.setPointerCapture(event.pointerId);
    paint(event);
  }, first);
  stage.addEventListener("pointermove", (event) => {
    if (does.touch() === "show" && from) paint(event);
  }, first);
  stage.addEventListener("pointerup", (event) => {
    const still = from !== null && Math.hypot(event.clientX - from.x, event.clientY - from.y) < STILL_PX;
    from = null;
    if (does.touch() === "show") return painted();
    const { x, y } = share(event);
    const hit = still && does.touch() !== "turn" ? viewer.hit(x, y) : null;
    if (hit) does.clicked(hit);
  }, first);
  stage.addEventListener("pointercancel", () => {
    from = null;
    stroke = null;
  }, first);
  stage.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const way = KEYS[event.key];
    if (way) {
      const step = event.shiftKey ? SMALL_STEP : STEP;
      viewer.turn(step * way[0], step * way[1]);
    } else if (event.key === "Enter") {
      const hit = does.touch() === "turn" ? null : viewer.hit(0.5, 0.5);
      if (hit && does.touch() === "show") does.painted(hit.at_mm.map((x) => x - 10) as Place, hit.at_mm.map((x) => x + 10) as Place);
      else if (hit) does.clicked(hit);
    } else {
      return;
    }
    event.preventDefault();
    event.stopPropagation();
  }, first);
  return () => ending.abort();
}
