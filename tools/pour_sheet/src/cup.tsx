// SPDX-License-Identifier: GPL-3.0-or-later
// What a person sees first: what goes into the cup, or why nothing does; the window of the pour;
// and the facts that they rest on.
import type { Live, SheetData } from "made/sheet_types";
import type { Figures, Shown } from "./figures";
import type { PourWindow } from "./foam";
import { Fact, T } from "./parts";
import { type Notice, Scale, own, pair, significant, told } from "./told";
import * as words from "./words";

interface GramsProps {
  letter: string;
  value: string;
  unit: string;
  what: string;
  kind?: string;
}

function Grams({ letter, value, unit, what, kind = "" }: GramsProps) {
  return (
    <div class={`grams ${kind}`}>
      <span class={`letter ${kind === "spare" ? "dial" : ""}`} aria-hidden={kind === "spare"}>{letter}</span>
      <span class="number">{value}<span class="unit">{unit}</span></span>
      <span class="what">{what}</span>
    </div>
  );
}

// A stop takes the grams away: why, and what would do.
function Stopped({ stops }: { stops: Notice[] }) {
  return (
    <div class="stopped">
      <span class="letter" aria-hidden="true">!</span>
      <strong>Nothing to pour yet</strong>
      {stops.map((stop) => <p key={stop.code}><T of={stop.text} /></p>)}
    </div>
  );
}

function Weights({ live, figures }: { live: Live; figures: Figures }) {
  const { batch, choice, clock } = figures;
  const scale = new Scale(choice.scale_readability_g);
  const spare = clock?.chosen;
  return (
    <div class="weights">
      <Grams letter="A" value={scale.number(batch.part_a_g)} unit={scale.unit} what="into its own cup" />
      <Grams letter="B" value={scale.number(batch.part_b_g)} unit={scale.unit} what="into the mixing cup" />
      {live.pigment_share > 0 && <Grams letter={"\u25cf"} value={scale.number(batch.pigment_g, scale.fine)} unit={scale.unit} what="pigment, stirred into B" kind="pigment" />}
      {spare && <Grams letter="" value={significant(spare.spare_s, 2)} unit="s" what={`to spare, until ${spare.tightest === "covered" ? "the hole" : "it"} must be ${spare.tightest}`} kind="spare" />}
    </div>
  );
}

// ---- the window -------------------------------------------------------------------------------

function WindowBar({ w }: { w: PourWindow }) {
  const all = [w.fills_from_low_g, w.fills_from_high_g, w.planned_g, w.presses_over_g];
  const pad = 0.12 * (Math.max(...all) - Math.min(...all));
  const least = Math.min(...all) - pad;
  const span = Math.max(...all) + pad - least;
  const at = (g: number) => (100 * (g - least)) / span;
  // A zone's name keeps out of the planned mark's way.
  const zone = (name: string, from: number, to: number, text: string) => (
    <div class={`zone ${name}`} style={{ left: `${at(from)}%`, width: `${Math.max(0, at(to) - at(from))}%` }}>
      {at(to) - at(from) > 8 && <span class={at(w.planned_g) > 0.5 * (at(from) + at(to)) ? "start" : "end"}>{text}</span>}
    </div>
  );
  const mark = (name: string, g: number) => <div class={`at-gram ${name}`} style={{ left: `${at(g)}%` }} />;
  return (
    <div class="window-bar" aria-hidden="true">
      {zone("empty", least, w.fills_from_low_g, "too little")}
      {zone("perhaps", w.fills_from_low_g, w.fills_from_high_g, "may fall short")}
      {zone("good", w.fills_from_high_g, Math.max(w.fills_from_high_g, w.presses_over_g), "good")}
      {zone("hard", w.presses_over_g, least + span, "too hard")}
      {mark("fills", w.fills_from_g)}
      {mark("presses", w.presses_over_g)}
      {mark("planned", w.planned_g)}
    </div>
  );
}

function Window({ live, w, scale }: { live: Live; w: PourWindow; scale: Scale }) {
  const verdict = words.windowVerdict(w);
  const figure = (name: string, label: string, value: number, more: preact.ComponentChildren) => (
    <div class={`figure ${name}`}>
      <span class="name">{label}</span>
      <span class="value">{scale.three(value)}<span class="unit">{scale.unit}</span></span>
      <span class="more">{more}</span>
    </div>
  );
  return (
    <section class="panel window" aria-labelledby="window-name">
      <h2 id="window-name">Window <span class="hint">in {live.molds > 1 ? "this part's mold" : "the mold"}: weigh the cup before and after pouring</span></h2>
      <div class="figures">
        {figure("fills", "Fills from", w.fills_from_g, `${scale.three(w.fills_from_low_g)} to ${scale.three(w.fills_from_high_g)}`)}
        {figure("planned", "Planned", w.planned_g, `${verdict.good ? "\u2713" : "!"} ${verdict.words}`)}
        {figure("presses", "Presses too hard over", w.presses_over_g, <>the mold is taken to hold <T of={[own(w.mold_holds_kpa, "pressure", 2)]} /></>)}
      </div>
      <WindowBar w={w} />
    </section>
  );
}

// ---- the facts --------------------------------------------------------------------------------

function kitWords({ batch, card }: Figures): string {
  return `a kit makes ${Math.floor(batch.copies_per_kit)} copies${batch.cost_per_copy > 0 ? `, at ${batch.cost_per_copy.toFixed(2)} ${card.currency} each` : ""}`;
}

function Facts({ data, live, figures }: { data: SheetData; live: Live; figures: Figures }) {
  const { batch, choice, mass } = figures;
  const pours = figures.stops.length === 0;
  const scale = new Scale(choice.scale_readability_g);
  const other = pours ? words.otherMixWords(figures) : null;
  const cup = told`${words.trueWords(figures)}; cup of ${batch.cup_ml.toFixed(0)} mL or more`;
  const stays = figures.moved || choice.copies !== live.copies; // what the program worded does not follow
  const asPlanned = (label: string) => (label && stays ? `${label} (as planned)` : label);
  return (
    <dl class="facts">
      <Fact name="Mix"><T of={words.mixLine(figures, live.air_kpa)} />{other && <span class="other"><T of={other} /></span>}</Fact>
      {pours && <Fact name="Pour">{words.togetherWords(figures)}</Fact>}
      {pours && <Fact name="Scale"><T of={cup} /></Fact>}
      {pours && batch.batches > 1 && <Fact name="In all">{batch.batches} cups: A {scale.text(batch.total_a_g)}, B {scale.text(batch.total_b_g)}</Fact>}
      {pours && batch.copies_per_kit > 0 && <Fact name="Kit">{kitWords(figures)}</Fact>}
      {pours ? <Fact name="Part"><T of={words.partWords(data, figures)} /></Fact> : <Fact name="Asked for">a part of <T of={[pair(mass.molded_density_kg_m3, "density")]} /></Fact>}
      {pours && <Fact name="Presses"><T of={words.pressureWords(figures)} /></Fact>}
      {pours && data.facts.map((row, i) => <Fact key={i} name={asPlanned(row.label)}><T of={row.text} /></Fact>)}
      {pours && words.partsWords(data, figures).map((part, i) => <Fact key={i} name={i === 0 ? "Parts" : ""}>{part}</Fact>)}
      {data.up.length > 0 && <Fact name="Way up"><T of={data.up} /></Fact>}
    </dl>
  );
}

// The outcome in one line.
export function Now({ shown: { figures, refused } }: { shown: Shown }) {
  const stop = refused ?? figures?.stops[0];
  if (stop) return <>Nothing to pour yet: <T of={stop.text} /></>;
  if (!figures?.changed) return null;
  const scale = new Scale(figures.choice.scale_readability_g);
  return <>Now A {scale.text(figures.batch.part_a_g)}, B {scale.text(figures.batch.part_b_g)}; {words.windowVerdict(figures.window).words}.</>;
}

export function Cup({ data, live, shown: { figures, refused } }: { data: SheetData; live: Live; shown: Shown }) {
  const stops = refused ? [refused] : (figures?.stops ?? []);
  return (
    <section class="cup" aria-label="What goes into the cup">
      {stops.length > 0 ? <Stopped stops={stops} /> : figures && <><Weights live={live} figures={figures} /><Window live={live} w={figures.window} scale={new Scale(figures.choice.scale_readability_g)} /></>}
      {figures && <Facts data={data} live={live} figures={figures} />}
    </section>
  );
}
