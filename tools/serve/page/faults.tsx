// SPDX-License-Identifier: GPL-3.0-or-later
// What was wrong with the file and what mending did, as pictures of the part before and after.
import { useState } from "preact/hooks";
import { Panel } from "../../pour_sheet/src/parts";
import type { PartState, PlanJson } from "./api";

const title = (word: string) => word.replaceAll("_", " ");

function List({ rows, none }: { rows: { name: string; count: number; places: number }[]; none: string }) {
  if (rows.length === 0) return <p>{none}</p>;
  return (
    <ol>
      {rows.map((row, i) => <li key={i}>{title(row.name)}: {row.count.toLocaleString("en-US")}{row.places === 0 ? <span class="hint"> (at no one place)</span> : ""}</li>)}
    </ol>
  );
}

export function Faults({ part, plan, stale }: { part: PartState; plan: PlanJson; stale: boolean }) {
  const [side, setSide] = useState<"front" | "side">("front");
  const { faults, steps } = plan.repair;
  if (faults.length === 0 && steps.length === 0) return null;
  const picture = (what: string, alt: string) => <img src={`/api/parts/${part.id}/${what}.svg?from=${side}&version=${part.version}`} alt={alt} />;
  const button = (one: "front" | "side", text: string) => <button type="button" aria-pressed={side === one} onClick={() => setSide(one)}>{text}</button>;
  return (
    <Panel title="Faults and mending" kind={stale ? "faults stale" : "faults"}>
      <div class="units" role="group" aria-label="Seen from">{button("front", "its widest side")}{button("side", "a quarter turn on")}</div>
      <div class="before-after">
        <section aria-label="Before mending">
          <h3>As the file has it</h3>
          {!stale && picture("faults", "The part as the file has it, its faults marked by the numbers below")}
          <List rows={faults.map((fault) => ({ name: fault.kind, count: fault.count, places: fault.places_mm.length }))} none="No faults." />
        </section>
        <section aria-label="After mending">
          <h3>Mended</h3>
          {!stale && picture("mended", "The mended part, the places that were changed marked by the numbers below")}
          <List rows={steps.map((step) => ({ name: step.action, count: step.count, places: step.places_mm.length }))} none="Nothing was changed." />
        </section>
      </div>
      <p class="hint">A number's ring is dashed where the part hides its place. The worst 24 places of each are marked.</p>
    </Panel>
  );
}
