// SPDX-License-Identifier: GPL-3.0-or-later
// The part in 3D with its controls; where there is no WebGL, the program's own pictures.
import type { ComponentChildren } from "preact";
import { useContext, useEffect, useLayoutEffect, useRef, useState } from "preact/hooks";
import type { Coloring, Place, SheetData } from "made/sheet_types";
import { Picture, T, Units } from "./parts";
import { Rising, arrivals } from "./rising";
import { own, pair, told } from "./told";
import { type CutAxis, Viewer } from "./viewer";

export function Legend({ coloring, map }: { coloring: Coloring; map: number[] }) {
  const color = (step: number) => `#${(map[step] ?? 0).toString(16).padStart(6, "0")}`;
  const chip = (step: number) => <span class="chip" style={{ background: color(step) }} />;
  const { kind } = coloring;
  const end = (value: number) => (kind === "time" ? `${value.toFixed(0)} s` : kind === "" ? "" : <T of={[pair(value, kind)]} />);
  if (kind === "") return <div class="legend classes">{coloring.classes.map((name, i) => <span key={name}>{chip(255 * i)}{name}</span>)}</div>;
  return (
    <div class="legend">
      <span>{end(coloring.dark)}</span>
      <div class="strip" style={{ background: `linear-gradient(to right, ${[0, 51, 102, 153, 204, 255].map(color).join(", ")})` }} />
      <span>{end(coloring.light)} {!coloring.plain_beyond && coloring.light_words}</span>
      {coloring.plain_beyond && <span><span class="chip plain" />{coloring.light_words}</span>}
    </div>
  );
}

export function Choice({ type = "radio", name, words, checked, onChange }: { type?: string; name: string; words: ComponentChildren; checked: boolean; onChange: (on: boolean) => void }) {
  const id = `${name}-${typeof words === "string" ? words.replaceAll(/\W+/g, "-") : "box"}`;
  return (
    <span class="choice">
      <input type={type} name={name} id={id} checked={checked} onChange={(event) => onChange(event.currentTarget.checked)} />
      <label for={id}>{words}</label>
    </span>
  );
}

const CUTS: [CutAxis, string][] = [["none", "whole"], ["left-right", "across"], ["front-back", "from the front"], ["height", "by height"]];
const VIEWS: [string, number, number][] = [["front", 0, 0], ["right", Math.PI / 2, 0], ["above", 0, Math.PI / 2], ["corner", 0.5, 0.35]];

interface ModelProps {
  data: SheetData;
  moved: boolean; // the density is another one than colors and level were made for
  way: number | null;
  choose: (way: number | null) => void;
  place: { at_mm: Place } | null; // to be shown; a new object for each time
}

function Ways({ data, way, choose }: Pick<ModelProps, "data" | "way" | "choose">) {
  const planned = data.ways.findIndex((one) => one.planned);
  const shown = way ?? planned;
  const told_ = data.ways[shown];
  if (data.ways.length === 0) return null;
  return (
    <div class="ways">
      <span class="label" id="ways-label">Ways up, best first</span>
      <div class="choices" role="group" aria-labelledby="ways-label">
        {data.ways.map((one, i) => {
          const words = `${one.name}${one.planned ? " \u2713" : ""}`;
          return <button type="button" key={words} aria-pressed={i === shown} aria-label={`Way up ${words}`} onClick={() => choose(i === planned ? null : i)}>{words}</button>;
        })}
      </div>
      <p class="about" role="status">{told_ && <>{told_.planned ? "As planned here. " : "Only looked at. "}<T of={told_.about} /></>}</p>
    </div>
  );
}

export function Model({ data, moved, way, choose, place }: ModelProps) {
  const { display, plan } = data;
  const stage = useRef<HTMLDivElement>(null);
  const [viewer, setViewer] = useState<Viewer | null>(null);
  const [flat, setFlat] = useState(false);
  const [coloring, setColoring] = useState<Coloring | null>(display.colorings[0] ?? null);
  const [axis, setAxis] = useState<CutAxis>("none");
  const [share, setShare] = useState(0.5);
  const [liquid, setLiquid] = useState(false);
  const [opened, setOpened] = useState(false);
  const { rising } = data;
  const [time, setTime] = useState(rising?.to_s ?? 0);
  const system = useContext(Units);
  const depth = plan.bench?.liquid_depth_mm ?? 0;
  const asPlanned = (one: Coloring) => (moved && !["thickness", "thin", "halves"].includes(one.key) ? `${one.title}, as planned` : one.title);

  useEffect(() => {
    try {
      setViewer(new Viewer(stage.current as HTMLElement, display, `${plan.input.file} in 3D, standing as it is poured; arrow keys turn it`));
    } catch {
      setFlat(true);
    }
    document.body.dataset.ready = "yes";
  }, []);
  // The rise is that of the planned way up.
  const arrival = way === null && rising ? display.colorings.find((one) => one.key === "arrival") : undefined;
  const shownColoring = coloring?.key === "arrival" ? (arrival ?? null) : coloring;
  const plays = arrival !== undefined && shownColoring === arrival;
  // At once, so that table and part never differ.
  useLayoutEffect(() => {
    const other = way === null ? undefined : data.ways[way];
    const up = other?.up ?? plan.air?.up ?? [0, 0, 1];
    viewer?.stands(up, display.front);
    viewer?.markedWith([...(other?.marks ?? data.marks), ...(plays && rising ? rising.marks : data.thin_marks.slice(0, 26))], up);
  }, [viewer, way, plays]);
  useEffect(() => viewer?.colored(shownColoring), [viewer, shownColoring]);
  useEffect(() => {
    if (rising) viewer?.arriving(arrivals(rising));
  }, [viewer]);
  useEffect(() => viewer?.risenTo(plays ? time : null), [viewer, plays, time]);
  useEffect(() => viewer?.linedWith(data.lines), [viewer]);
  const pull = plan.split?.pull;
  useEffect(() => viewer?.openedAlong(opened && pull ? pull : null), [viewer, opened, way]);
  useEffect(() => viewer?.cutAt(axis, share), [viewer, axis, share, way]);
  useEffect(() => viewer?.liquidAt(liquid && !moved && way === null ? depth : null), [viewer, liquid, moved, way]);
  useEffect(() => {
    if (!place || !viewer) return;
    viewer.lookAt(place.at_mm);
    stage.current?.scrollIntoView({ block: "nearest" });
    viewer.canvas.focus({ preventScroll: true });
  }, [place]);

  return (
    <section class="panel model" aria-label="The part">
      <h2>The part, as it is poured</h2>
      <Ways data={data} way={way} choose={choose} />
      {/* The viewer puts its own canvas into the stage. */}
      <div class={`stage ${flat ? "flat" : ""}`} ref={stage}>{flat && data.pictures.map((one) => <Picture key={one.title} data={data} of={one} />)}</div>
      {flat && <p class="hint">This browser shows no 3D (WebGL is off), so here are pictures made by the program{rising && "; the rise is told in words, not played"}.</p>}
      {viewer && (
        <>
          <div class="under">
            {shownColoring && <Legend coloring={shownColoring} map={display.color_map} />}
            <p class="hint">
              Drag or arrow keys turn, + and − zoom, Home resets. P: pour hole (funnel); numbers: vents (rods); letters: thin places (diamonds);{data.lines.some((line) => line.kind === "parting") && " red line: where the mold parts;"}{data.lines.some((line) => line.kind === "slit") && " orange line: where a mold of one piece would be slit instead;"} +x to −z: the file's directions.
              Shown with {display.triangles.toLocaleString("en-US")} triangles{display.deviation_mm > 0 && <T of={told`, within ${own(display.deviation_mm, "length")} of the part`} />}.
            </p>
          </div>
          <div class="tools" data-system={system}>
            {arrival && rising && (
              <Rising
                data={data} rise={rising} time={time} moved={moved}
                show={(at) => {
                  setColoring(arrival);
                  setTime(at);
                }}
              />
            )}
            <fieldset>
              <legend>Surface</legend>
              <Choice name="surface" words="plain" checked={shownColoring === null} onChange={() => setColoring(null)} />
              {display.colorings.filter((one) => one.key !== "arrival" || arrival).map((one) => <Choice key={one.key} name="surface" words={asPlanned(one)} checked={shownColoring === one} onChange={() => setColoring(one)} />)}
            </fieldset>
            <fieldset>
              <legend>Cut</legend>
              {CUTS.map(([one, words]) => <Choice key={one} name="cut" words={words} checked={axis === one} onChange={() => setAxis(one)} />)}
              <input type="range" min="0" max="1" step="0.01" value={share} id="cut-at" aria-label="Where the cut is" disabled={axis === "none"} onInput={(event) => setShare(event.currentTarget.valueAsNumber)} />
            </fieldset>
            <fieldset>
              <legend>View</legend>
              {VIEWS.map(([words, azimuth, elevation]) => <button type="button" key={words} onClick={() => viewer.seenFrom(azimuth, elevation)}>{words}</button>)}
              {depth > 0 && !moved && way === null && <Choice type="checkbox" name="liquid" words={<>liquid before it rises, <T of={[pair(depth, "length")]} /> deep</>} checked={liquid} onChange={setLiquid} />}
              {display.halves.length > 0 && pull && <Choice type="checkbox" name="opened" words="mold opened along its pull" checked={opened} onChange={setOpened} />}
            </fieldset>
          </div>
        </>
      )}
    </section>
  );
}
