// SPDX-License-Identifier: GPL-3.0-or-later
// The card, for the printer: one page, black and white, with boxes to tick in order of time.
import type { ComponentChildren } from "preact";
import type { Live, SheetData, Told } from "made/sheet_types";
import type { Figures, Shown } from "./figures";
import { Picture, T } from "./parts";
import { Scale, drill, own, pair, told } from "./told";
import * as words from "./words";

const MOST_HOLES = 8;

interface Item {
  tag: string;
  text: Told;
  tick: boolean;
}

function stepWords(moment: words.Moment): string {
  const what = `${moment.what[0]?.toUpperCase()}${moment.what.slice(1)}`;
  const more = moment.step?.kind === "stir" && moment.at_s === 0 ? ": A into B, start the clock, scrape walls and floor" : "";
  return `${what}${more}${moment.by ? `; ${moment.by}` : ""}${moment.late ? `: ${moment.late}` : ""}.`;
}

// What is done before the clock runs, by the clock, and afterwards.
function checklist(data: SheetData, live: Live, figures: Figures): Item[] {
  const { batch, choice, clock } = figures;
  const scale = new Scale(choice.scale_readability_g);
  const item = (tag: string, text: Told | string, tick = true): Item => ({ tag, text: typeof text === "string" ? [text] : text, tick });
  const items = [
    item("", data.before.join(" ")),
    item("B", `Weigh B: ${scale.text(batch.part_b_g)}, into a cup of ${batch.cup_ml.toFixed(0)} mL or more.`),
    ...(live.pigment_share > 0 ? [item("+", `Stir ${scale.text(batch.pigment_g, scale.fine)} of pigment into B until even.`)] : []),
    item("A", `Weigh A: ${scale.text(batch.part_a_g)}, apart.`),
    ...words.timeLine(figures).map((moment) => item(moment.clock.replace(" to ", "\u2013"), stepWords(moment), moment.step !== null)),
  ];
  const [beside = "", log = ""] = data.after;
  if (clock) {
    const hole = clock.chosen.method === "through_hole" ? (data.plan.air?.pour_hole_after === "plugged" ? "The pour hole stays plugged, vents open. " : "Vents and the cover's hole stay open. ") : "";
    items.push(item("", hole + beside), item(`${words.minutes(clock.demold_min_s)} min`, `Open after ${words.openWords(figures)}.`));
  }
  return [...items, item("", log)];
}

function Big({ letter, value, what = "" }: { letter: string; value: string; what?: string }) {
  return <div class={what ? "big more" : "big"}><b>{letter}</b><span>{value}</span><i>{what}</i></div>;
}

function Amounts({ data, live, figures }: { data: SheetData; live: Live; figures: Figures }) {
  const { batch, choice, window: w } = figures;
  const scale = new Scale(choice.scale_readability_g);
  const three = (g: number) => `${scale.three(g)} ${scale.unit}`;
  const cell = (name: string, value: string, more: ComponentChildren) => <div><span>{name}</span><b>{value}</b><i>{more}</i></div>;
  const verdict = words.windowVerdict(w);
  const parts = words.partsWords(data, figures);
  return (
    <>
      <div class="bigs">
        <Big letter="A" value={scale.text(batch.part_a_g)} />
        <Big letter="B" value={scale.text(batch.part_b_g)} />
        {live.pigment_share > 0 && <Big letter="+" value={scale.text(batch.pigment_g, scale.fine)} what="pigment" />}
      </div>
      <div class="card-window">
        {cell("In the mold: fills from", three(w.fills_from_g), `${scale.three(w.fills_from_low_g)} to ${scale.three(w.fills_from_high_g)}`)}
        {cell("planned", three(w.planned_g), `${verdict.good ? "" : "! "}${verdict.words}`)}
        {cell("presses too hard over", three(w.presses_over_g), <>straps for <T of={[own(w.strap_for_kpa, "pressure", 2)]} /></>)}
      </div>
      {parts.length > 0 && <p class="line parts"><b>Parts </b>{parts.join("; ")}.</p>}
      <p class="line">{words.togetherWords(figures)}{batch.batches > 1 ? `; ${batch.batches} cups in all` : ""}; {words.trueWords(figures)}.</p>
    </>
  );
}

function Holes({ data, figures }: { data: SheetData; figures: Figures | null }) {
  if (data.marks.length === 0) return null;
  const few = data.marks.slice(0, MOST_HOLES);
  return (
    <table class={few.length > 4 ? "many" : ""}>
      <tbody>
        {few.map((mark) => (
          <tr key={mark.label}>
            <th>{mark.kind === "vent" ? "Vent" : "Pour hole"} {mark.label}</th>
            <td><T of={mark.where} />{mark.kind === "pour_hole" && <>: <T of={words.afterWords(mark, figures)} /></>}</td>
            <td class="drill">{words.drillOf(mark, figures) > 0 && <>drill <T of={[drill(words.drillOf(mark, figures))]} /></>}</td>
          </tr>
        ))}
        {data.marks.length > few.length && <tr><td colSpan={3}>and {data.marks.length - few.length} more on the sheet and the templates</td></tr>}
      </tbody>
    </table>
  );
}

// All on one page: where there is much to tell, smaller.
function isDense(data: SheetData, figures: Figures | null): boolean {
  const steps = figures ? words.timeLine(figures).length : 0;
  const warnings = (figures?.findings ?? data.findings).filter((one) => one.severity === "warning").length;
  return steps + 2 * (Math.min(data.marks.length, MOST_HOLES) + warnings) > 12;
}

// What the sheet's own file says of when it was written: the plan itself is the same on any day.
function writtenOn(): string {
  const on = new Date(document.lastModified);
  const two = (n: number) => String(n).padStart(2, "0");
  return `${on.getFullYear()}-${two(on.getMonth() + 1)}-${two(on.getDate())}`;
}

export function Card({ data, live, shown: { figures, refused } }: { data: SheetData; live: Live | undefined; shown: Shown }) {
  const { air, program, foam } = data.plan;
  const stops = refused ? [refused] : (figures?.stops ?? []);
  const pours = figures && stops.length === 0;
  const warnings = (figures?.findings ?? data.findings).filter((one) => one.severity === "warning");
  const unit = figures ? new Scale(figures.choice.scale_readability_g).unit : "g";
  const part = pours ? told`part ${words.partWords(data, figures)}` : figures ? told`part of ${pair(figures.mass.molded_density_kg_m3, "density")}` : [];
  return (
    <section id="card" aria-hidden="true" class={isDense(data, figures) ? "dense" : ""}>
      <h1>{data.plan.input.file}</h1>
      <p class="line">
        {figures && <><b>{foam?.card}</b>; <T of={told`mix ${words.chosenMixWords(figures)}; ${part}; ${pair(figures.choice.temperature_c, "temperature")}. `} /></>}
        Plan of {writtenOn()} by cavigram {program.version}{figures?.changed ? ", figures changed in the page" : ""}.
      </p>
      {pours && live && <Amounts data={data} live={live} figures={figures} />}
      {stops.length > 0 && <div class="card-stop"><b>Nothing to pour yet</b>{stops.map((stop) => <p key={stop.code}>Stop: <T of={stop.text} /></p>)}</div>}
      {warnings.map((one, i) => <p class="card-warning" key={i}><b>Warning: </b><T of={one.text} /></p>)}
      <div class="pictures">{data.pictures.slice(0, 2).map((one) => <Picture key={one.title} data={data} of={one} />)}</div>
      {air && <p class="line">Up: <T of={data.up} />. The pictures stand as it is poured.{air.pour_hole_after === "none" ? " No pour hole: the liquid goes into the open half." : ""}</p>}
      {air && <Holes data={data} figures={figures} />}
      {pours && figures.clock && <p class="line"><b>Pour </b>{words.methodWords(data, figures.clock.chosen.method).words}. <b>Spare </b>{words.spareWords(figures)}.</p>}
      {pours && live && (
        <ol class="boxes">
          {checklist(data, live, figures).map((item, i) => (
            <li key={i}><span class={item.tick ? "box" : "nobox"}>{item.tick ? null : "\u25b8"}</span><span class="tag-print">{item.tag}</span><span><T of={item.text} /></span></li>
          ))}
        </ol>
      )}
      {stops.length === 0 && <p class="blanks">{`Date _______  Room ___ \u00b0  Cup _____ ${unit}  In the mold _____ ${unit}  Part out _____ ${unit}  By _______`}</p>}
      <div class="small">{data.pour_cautions.map((text) => <p key={text}>{text}</p>)}</div>
    </section>
  );
}
