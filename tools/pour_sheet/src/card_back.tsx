// SPDX-License-Identifier: GPL-3.0-or-later
// The card's other side: the mold around the part, and the part in the hand.
import { useContext } from "preact/hooks";
import type { Row, SheetData } from "made/sheet_types";
import { Rows, Units } from "./parts";
import { type System, rendered } from "./told";

// Rows of these labels, each with those that go on with it.
function only(rows: Row[], labels: string[]): Row[] {
  let on = false;
  return rows.filter((row) => {
    if (row.label !== "") on = labels.includes(row.label);
    return on;
  });
}

// About so many lines of the card; where there are many it is set smaller, so that the cautions at
// its end are on it too.
function lines(rows: Row[], system: System): number {
  const LINE = 82; // characters
  return rows.reduce((sum, row) => sum + Math.max(1, Math.ceil(rendered(row.text, system, true).length / LINE)), 0);
}

// What is there to be built does not wait for the foam; where nothing can be poured yet, straps and
// grams would mislead, and the front says why.
export function CardBack({ data, moved, stopped }: { data: SheetData; moved: boolean; stopped: boolean }) {
  const parting = only(data.split, ["Pull", "Line", "Halves"]);
  const mold = only(data.mold, ["Mold", "Rubber", "Jacket", "Box", "Holes", "Opens", "Straps", "Lift", "Master"]);
  const hand = only(data.handle, ["In hand", "Held", "Droops", "So it", "Armature"]);
  const cautions = data.plan.cautions.filter((text) => !data.pour_cautions.includes(text));
  const many = lines([...parting, ...mold, ...hand], useContext(Units));
  if (stopped || parting.length + mold.length + hand.length === 0) return null;
  const part = (title: string, rows: Row[]) => rows.length > 0 && (
    <section>
      <h2>{title}</h2>
      <Rows rows={rows} />
    </section>
  );
  return (
    <section id="card-back" aria-hidden="true" class={many > 52 ? "dense densest" : many > 34 ? "dense" : ""}>
      <h1>{data.plan.input.file}: mold and hand{moved && ", as planned"}</h1>
      {part("Parting", parting)}
      {parting.length > 0 && <p class="line">The line at 1:1 with its heights: parting_front.svg and the other sides, beside this sheet.</p>}
      {part("To build", mold)}
      {part("In the hand", hand)}
      {mold.length > 0 && <p class="blanks">{"Mold made _______  Rubber used _____  Straps _____  Cast no. 1 on _______"}</p>}
      <div class="small">{cautions.map((text) => <p key={text}>{text}</p>)}</div>
    </section>
  );
}
