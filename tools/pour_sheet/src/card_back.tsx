// SPDX-License-Identifier: GPL-3.0-or-later
// The card's other side: the mold around the part, and the part in the hand.
import type { Row, SheetData } from "made/sheet_types";
import { Rows } from "./parts";

// Rows of these labels, each with those that go on with it.
function only(rows: Row[], labels: string[]): Row[] {
  let on = false;
  return rows.filter((row) => {
    if (row.label !== "") on = labels.includes(row.label);
    return on;
  });
}

// What is there to be built does not wait for the foam; where nothing can be poured yet, straps and
// grams would mislead, and the front says why.
export function CardBack({ data, moved, stopped }: { data: SheetData; moved: boolean; stopped: boolean }) {
  const parting = only(data.split, ["Pull", "Line", "Halves"]);
  const mold = only(data.mold, ["Mold", "Rubber", "Jacket", "Box", "Holes", "Opens", "Straps", "Lift", "Master"]);
  const hand = only(data.handle, ["In hand", "Held", "Droops", "So it", "Armature"]);
  const cautions = data.plan.cautions.filter((text) => !data.pour_cautions.includes(text));
  if (stopped || parting.length + mold.length + hand.length === 0) return null;
  const part = (title: string, rows: Row[]) => rows.length > 0 && (
    <section>
      <h2>{title}</h2>
      <Rows rows={rows} />
    </section>
  );
  return (
    <section id="card-back" aria-hidden="true" class={parting.length + mold.length + hand.length > 26 ? "dense" : ""}>
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
