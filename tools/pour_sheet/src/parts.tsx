// SPDX-License-Identifier: GPL-3.0-or-later
// What all of the sheet is made of. Text is set as text, never as markup: a file's name or a
// card's name can say what it likes.
import type { ComponentChildren } from "preact";
import { createContext } from "preact";
import { useContext } from "preact/hooks";
import type { Place, Row, SheetData, SheetPicture, Told } from "made/sheet_types";
import { type System, rendered } from "./told";

export const Units = createContext<System>("metric");

export function T({ of }: { of: Told }) {
  return <>{rendered(of, useContext(Units), true)}</>;
}

export function Fact({ name, children }: { name: string; children: ComponentChildren }) {
  return (
    <div class="row">
      <dt>{name}</dt>
      <dd>{children}</dd>
    </div>
  );
}

export function Panel({ title, kind = "", children }: { title: string; kind?: string; children: ComponentChildren }) {
  return (
    <section class={`panel ${kind}`}>
      <h2>{title}</h2>
      {children}
    </section>
  );
}

export type Show = (place: Place) => void;

export function PlaceButton({ at_mm, show, children }: { at_mm: Place; show: Show; children: ComponentChildren }) {
  return (
    <button type="button" class="go" title="show on the part" onClick={() => show(at_mm)}>
      {children}
    </button>
  );
}

// The text output's rows; one without a label goes on with the one before it.
export function Rows({ rows, show }: { rows: Row[]; show?: Show }) {
  return (
    <dl class="rows">
      {rows.map((row, i) => (
        <div class="row" key={i}>
          <dt>{row.label}</dt>
          <dd>
            <T of={row.text} />
            {show && row.at_mm.map((at) => <PlaceButton key={at.join()} at_mm={at} show={show}>{" show"}</PlaceButton>)}
          </dd>
        </div>
      ))}
    </dl>
  );
}

export function bytesOf(base64: string): Uint8Array<ArrayBuffer> {
  const text = atob(base64);
  const bytes = new Uint8Array(text.length);
  for (let i = 0; i < text.length; ++i) bytes[i] = text.charCodeAt(i);
  return bytes;
}

const urls = new Map<SheetPicture, string>();

// The picture is an SVG of our own; as an image it can run nothing. All pictures have one scale,
// so that side by side their widths go by the part's.
export function Picture({ data, of }: { data: SheetData; of: SheetPicture }) {
  const url = urls.get(of) ?? URL.createObjectURL(new Blob([bytesOf(of.svg)], { type: "image/svg+xml" }));
  urls.set(of, url);
  const marks = data.marks.map((m) => (m.kind === "vent" ? `vent ${m.label}` : "pour hole")).join(", ");
  return <img src={url} alt={`The part ${of.title.toLowerCase()}${marks ? `, with ${marks} marked` : ""}`} style={{ flex: `${of.width} 1 0` }} />;
}
