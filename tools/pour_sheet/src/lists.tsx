// SPDX-License-Identifier: GPL-3.0-or-later
// Head and lists of the sheet. A block whose stage did not run is absent, not empty.
import type { SheetData, SheetMark, ToldFinding } from "made/sheet_types";
import type { Figures } from "./figures";
import { Panel, PlaceButton, Rows, type Show, T } from "./parts";
import { type System, drill } from "./told";
import { afterWords, drillOf } from "./words";

export function Head({ data, system, choose }: { data: SheetData; system: System; choose: (system: System) => void }) {
  const button = (one: System, words: string) => (
    <button type="button" id={`units-${one}`} aria-pressed={system === one} onClick={() => choose(one)}>{words}</button>
  );
  return (
    <header id="head">
      <div class="name">
        <p class="kind">Pour sheet</p>
        <h1>{data.plan.input.file}</h1>
        <p><T of={data.size} /></p>
      </div>
      <div class="units" role="group" aria-label="Which units come first">
        {button("metric", "metric first")}
        {button("us", "US first")}
      </div>
    </header>
  );
}

function HoleRow({ mark, figures, show }: { mark: SheetMark; figures: Figures | null; show: Show }) {
  const wide = drillOf(mark, figures);
  return (
    <tr>
      <th scope="row"><span class={`tag ${mark.kind}`}>{mark.label}</span></th>
      <td>
        <PlaceButton at_mm={mark.at_mm} show={show}><T of={mark.where} /></PlaceButton>
        {mark.kind === "pour_hole" && <span class="after"><T of={afterWords(mark, figures)} /></span>}
      </td>
      <td>{wide > 0 && <T of={[drill(wide)]} />}</td>
      <td><T of={mark.frees} /></td>
    </tr>
  );
}

// What is shown follows another way up that is looked at: table and 3D agree.
function Holes({ data, marks, title, figures, show }: { data: SheetData; marks: SheetMark[]; title: string; figures: Figures | null; show: Show }) {
  const planned = marks === data.marks;
  return (
    <Panel title={title} kind="holes">
      {marks.length > 0 && (
        <table>
          <thead><tr>{["", "Where", "Drill", "Air it frees"].map((name) => <th scope="col" key={name}>{name}</th>)}</tr></thead>
          <tbody>{marks.map((mark) => <HoleRow key={mark.label} mark={mark} figures={planned ? figures : null} show={show} />)}</tbody>
        </table>
      )}
      {planned && data.plan.air?.pour_hole_after === "none" && <p>No pour hole: the liquid goes into the open half.</p>}
      {planned && figures?.changed && data.air.length > 0 && <p class="hint">The air, as planned:</p>}
      {planned ? <Rows rows={data.air} /> : <p class="hint">Only looked at: grams, clock, card and drills are for the way up that is planned.</p>}
    </Panel>
  );
}

const SEVERITY = { note: "Note", warning: "Warning", stop: "Stop" };
// Of the plan, these rest on its own density.
const AS_PLANNED = ["all_skin", "pour_hole_narrow_for_air", "several_solids", "no_straps", "straps_crowded", "straps_too_few"];

function Findings({ findings, moved, show }: { findings: ToldFinding[]; moved: boolean; show: Show }) {
  return (
    <Panel title="Notices">
      <ul class="findings">
        {findings.map((finding, i) => (
          <li class={finding.severity} key={i}>
            <strong>{SEVERITY[finding.severity]}{moved && AS_PLANNED.includes(finding.code) ? " (as planned)" : ""}: </strong>
            <T of={finding.text} />
            {finding.at_mm[0] && <PlaceButton at_mm={finding.at_mm[0]} show={show}>{" show"}</PlaceButton>}
          </li>
        ))}
      </ul>
    </Panel>
  );
}

interface ListsProps {
  data: SheetData;
  figures: Figures | null;
  way: number | null; // looked at; null: the plan's own
  show: Show;
}

export function Lists({ data, figures, way, show }: ListsProps) {
  const moved = figures?.moved ?? false;
  const findings = figures?.findings ?? data.findings;
  const other = way === null ? undefined : data.ways[way];
  return (
    <div class="lists">
      {data.plan.air && <Holes data={data} marks={other?.marks ?? data.marks} title={other ? `Pour hole and vents, way up ${other.name}` : `Pour hole and vents${moved ? ", where planned" : ""}`} figures={figures} show={show} />}
      {data.plan.thin && <Panel title={moved ? "Thin places, for the skin as planned" : "Thin places"} kind="thin-list"><Rows rows={data.thin} show={show} /></Panel>}
      {findings.length > 0 && <Findings findings={findings} moved={moved} show={show} />}
      {data.rise.length > 0 && <Panel title={moved ? "The foam rising, as planned" : "The foam rising"} kind="rise"><Rows rows={data.rise} /></Panel>}
      {data.split.length > 0 && <Panel title="The mold's halves" kind="split"><Rows rows={data.split} show={show} /></Panel>}
      {data.plan.mold && <Panel title={moved ? "Mold, as planned" : "Mold"} kind="mold"><Rows rows={data.mold} /></Panel>}
      {data.handle.length > 0 && <Panel title={moved ? "In the hand, as planned" : "In the hand"} kind="handle"><Rows rows={data.handle} show={show} /></Panel>}
      <Panel title="The file"><Rows rows={data.file} /></Panel>
      {data.plan.cautions.length > 0 && <Panel title="Cautions" kind="cautions">{data.plan.cautions.map((text) => <p key={text}>{text}</p>)}</Panel>}
    </div>
  );
}

// The line that logs the casting, to copy once it is weighed.
export function Log({ data, figures }: { data: SheetData; figures: Figures | null }) {
  if (data.log_call === "" || (figures && figures.stops.length > 0)) return null;
  return (
    <section class="panel log" aria-label="Log what comes out">
      <h2>Log what comes out</h2>
      {figures?.changed && <p class="hint">The mix and the cup as planned: put in what you poured.</p>}
      <pre>{data.log_call}</pre>
    </section>
  );
}

// What nobody measured, once, at the end.
export function Guesses({ data, changed }: { data: SheetData; changed: boolean }) {
  if (data.guesses.length === 0) return null;
  return (
    <section class="panel guesses" aria-label="Guesses in this plan">
      <h2>Guesses in this plan</h2>
      {changed && <p class="hint">Values as planned.</p>}
      <table>
        <thead><tr>{["What", "Taken as", "Yours with"].map((name) => <th scope="col" key={name}>{name}</th>)}</tr></thead>
        <tbody>{data.guesses.map((guess) => <tr key={guess.what}><th scope="row">{guess.what}</th><td><T of={guess.value} /></td><td>{guess.replace_with}</td></tr>)}</tbody>
      </table>
    </section>
  );
}
