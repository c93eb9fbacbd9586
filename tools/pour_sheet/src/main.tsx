// SPDX-License-Identifier: GPL-3.0-or-later
// Puts the sheet together: reads what the program left in the page, shows it, and does mix, grams,
// window and clock again whenever a knob is turned.
import { render } from "preact";
import { useMemo, useRef, useState } from "preact/hooks";
import type { Place, SheetData } from "made/sheet_types";
import { Card } from "./card";
import { CardBack } from "./card_back";
import { Cup } from "./cup";
import { planned, shown as shownOf } from "./figures";
import { Knobs } from "./knobs";
import { Guesses, Head, Lists, Log } from "./lists";
import { Model } from "./model";
import { Units } from "./parts";
import { TimeLine } from "./time_line";
import type { System } from "./told";

function Sheet({ data }: { data: SheetData }) {
  const { live } = data;
  const [system, setSystem] = useState<System>("metric");
  const [choice, setChoice] = useState(() => (live ? planned(live) : null));
  const [unread, setUnread] = useState<string | null>(null); // the field that holds no number
  const [way, setWay] = useState<number | null>(null);
  const [place, setPlace] = useState<{ at_mm: Place } | null>(null);
  const shown = useMemo(() => (choice ? shownOf(data, choice, unread) : { figures: null, refused: null }), [choice, unread]);
  const { figures } = shown;
  // A clock that runs goes on while an entry is refused.
  const last = useRef(figures);
  last.current = figures ?? last.current;
  const moved = choice?.density_kg_m3 !== null && choice !== null;
  return (
    <Units.Provider value={system}>
      <Head data={data} system={system} choose={setSystem} />
      <main id="sheet" tabIndex={-1}>
        {live && <Cup data={data} live={live} shown={shown} />}
        <div class="columns">
          <div class="left"><Model data={data} moved={moved} way={way} choose={setWay} place={place} /></div>
          <div class="right">
            {last.current?.clock && live?.bench && <TimeLine data={data} figures={last.current} clock={last.current.clock} bench={live.bench} stale={!figures} />}
            {live && choice && (
              <Knobs
                live={live} choice={choice} shown={shown}
                turn={(turned, field) => {
                  setChoice(turned);
                  setUnread(field);
                }}
              />
            )}
          </div>
        </div>
        <Lists data={data} figures={figures} way={way} show={(at_mm) => setPlace({ at_mm })} />
        <Log data={data} figures={figures} />
        <Guesses data={data} changed={figures ? figures.changed : live !== undefined} />
        <footer>Made by cavigram {data.plan.program.version}. Needs no network; print it for the card.</footer>
      </main>
      <Card data={data} live={live} shown={shown} />
      <CardBack data={data} moved={moved} stopped={shown.refused !== null || (figures?.stops.length ?? 0) > 0} />
    </Units.Provider>
  );
}

const data = JSON.parse(document.getElementById("sheet-data")?.textContent ?? "{}") as SheetData;
render(<Sheet data={data} />, document.getElementById("app") as HTMLElement);
