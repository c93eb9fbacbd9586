// SPDX-License-Identifier: GPL-3.0-or-later
// The page of `cavigram serve`: files come in by a drop, what is known of them stands there as soon
// as it is known, and everything can be changed in place. The state is the server's.
import { render } from "preact";
import { useEffect, useRef, useState } from "preact/hooks";
import { Panel, Units } from "../../pour_sheet/src/parts";
import type { System } from "../../pour_sheet/src/told";
import { type PartState, type Refused, type Table, ask, json, modeWords, send, useParts, useResult, words } from "./api";
import { Grams, Notices, Verdict } from "./answers";
import { Faults } from "./faults";
import { Options } from "./options";
import { Recent } from "./recent";
import { Came, Several } from "./several";
import { Size } from "./size";
import { Turn } from "./turn";
import { LogCasting, TallyBook } from "./tally";

function Drop({ took, few }: { took: (parts: PartState[]) => void; few: boolean }) {
  const [over, setOver] = useState(false);
  const [busy, setBusy] = useState("");
  const [wrong, setWrong] = useState("");
  const take = async (files: FileList | null) => {
    setWrong("");
    const here: PartState[] = [];
    for (const file of files ?? []) {
      setBusy(`Taking ${file.name} ...`);
      try {
        here.push(await send(file));
        took(here);
      } catch (error) {
        setWrong(`${file.name}: ${(error as Refused).message}`);
      }
    }
    setBusy("");
  };
  return (
    <section
      class={`drop${over ? " over" : ""}${few ? " few" : ""}`} aria-label="Parts to plan"
      onDragOver={(event) => {
        event.preventDefault();
        setOver(true);
      }}
      onDragLeave={() => setOver(false)}
      onDrop={(event) => {
        event.preventDefault();
        setOver(false);
        take(event.dataTransfer?.files ?? null);
      }}
    >
      <label class="pick">
        <span><strong>Drop the part's file here</strong>, or choose it</span>
        <input
          type="file" multiple
          onChange={(event) => {
            const input = event.currentTarget;
            take(input.files).then(() => (input.value = ""));
          }}
        />
      </label>
      <p class="hint">STL, OBJ, PLY, OFF, GLB, 3MF; up to 1 GiB. It stays on this machine.</p>
      <p role="status">{busy}</p>
      <p class="wrong" role="alert">{wrong}</p>
    </section>
  );
}

const STEP = { part: "Size and faults", grams: "Grams", plan: "Air, ways up, mold, sheet" };

function Progress({ part }: { part: PartState }) {
  const mode = modeWords(part);
  return (
    <section class="progress" aria-label="What is computed">
      <ol>
        {part.steps.map((step) => <li key={step.name} class={step.state === "running" ? "doing" : step.state}>{STEP[step.name]}<span class="sign">{step.state === "done" ? " done" : step.state === "running" ? " now" : ""}</span></li>)}
      </ol>
      <p role="status" class="mode">{mode}</p>
      {part.mode === "working" && <progress max={1} value={part.waits ? undefined : part.share} aria-label="Of what is computed now" />}
      {part.mode === "working" && <button type="button" onClick={() => ask("POST", `/api/parts/${part.id}/stop`)}>Stop</button>}
      {(part.mode === "stopped" || part.mode === "failed") && <button type="button" onClick={() => ask("POST", `/api/parts/${part.id}/again`)}>Go on</button>}
      {part.error !== "" && <p class="stop" role="alert">{part.error}</p>}
    </section>
  );
}

function Save({ part, ready }: { part: PartState; ready: boolean }) {
  const [line, setLine] = useState("");
  const [copied, setCopied] = useState(false);
  const at = `/api/parts/${part.id}`;
  useEffect(() => {
    setCopied(false);
    words(`${at}/command.txt`).then(setLine, () => {});
  }, [part.id, part.version]);
  const link = (file: string, text: string) => (ready ? <a class="button" href={`${at}/${file}`} download="">{text}</a> : <span class="button off">{text}</span>);
  return (
    <Panel title="Keep it" kind="save">
      <p class="tools">
        {link("plan.zip", "Save the plan folder (ZIP)")}
        {ready ? <a class="button" href={`${at}/sheet.html`} target="_blank" rel="noopener">Open the sheet to print it</a> : <span class="button off">Open the sheet to print it</span>}
        {link("plan.json", "plan.json")}
        <a class="button" href={`${at}/job.toml`} download="">job.toml</a>
      </p>
      {!ready && <p class="hint">The plan can be saved when all is computed.</p>}
      <p>The same on the command line, beside the file:</p>
      <pre class="line" tabIndex={0} aria-label="Command line">{line}</pre>
      <button type="button" onClick={() => navigator.clipboard.writeText(line).then(() => setCopied(true), () => {})}>{copied ? "Copied" : "Copy it"}</button>
    </Panel>
  );
}

function Bench({ part, parts, table }: { part: PartState; parts: PartState[]; table: Table }) {
  const measured = useResult(part, "part");
  const weighed = useResult(part, "grams");
  const planned = useResult(part, "plan");
  const latest = [planned, weighed, measured].find((one) => one && one.version === part.version) ?? planned ?? weighed ?? measured;
  const grams = planned?.version === part.version ? planned : weighed;
  const ready = planned?.version === part.version;
  const stale = (one: { version: number } | null) => one !== null && one.version !== part.version;
  return (
    <>
      <Progress part={part} />
      {grams?.plan.batch && <Grams plan={grams.plan} stale={stale(grams)} whole={ready} />}
      <div class="columns">
        <div class="left">{measured && <Size part={part} plan={measured.plan} stale={stale(measured)} />}</div>
        <div class="right">
          {measured && <Verdict plan={measured.plan} stale={stale(measured)} />}
          <Save part={part} ready={ready} />
        </div>
      </div>
      {planned && <Turn part={part} planned={planned} />}
      {measured && <Faults part={part} plan={measured.plan} stale={stale(measured)} />}
      {latest && <Notices plan={latest.plan} stale={stale(latest)} />}
      {grams && <LogCasting part={part} plan={grams.plan} rows={table.weighed} />}
      <Options table={table} part={part} parts={parts} />
      {planned && (
        <section class={stale(planned) ? "sheet stale" : "sheet"} aria-label="Pour sheet">
          <h2>The pour sheet{stale(planned) ? " as it was; the new one is being computed" : ""}</h2>
          {ready && <iframe title={`Pour sheet of ${part.name}`} src={`/api/parts/${part.id}/sheet.html?version=${part.version}`} />}
        </section>
      )}
    </>
  );
}

function Tabs({ parts, chosen }: { parts: PartState[]; chosen: PartState | undefined }) {
  const [wrong, setWrong] = useState("");
  const close = (part: PartState) => ask("DELETE", `/api/parts/${part.id}`).then(() => setWrong(""), (error: Refused) => setWrong(error.message));
  return (
    <nav class="parts" aria-label="Parts">
      <ul>
        {parts.map((part) => (
          <li key={part.id} class={part === chosen ? "chosen" : ""}>
            <a href={`#${part.id}`} aria-current={part === chosen ? "page" : undefined}>{part.name}</a>
            <span class="sign">{part.mode === "working" ? " works" : part.mode === "failed" ? " failed" : ""}</span>
            <button type="button" aria-label={`Close ${part.name}`} onClick={() => close(part)}>{"\u00d7"}</button>
          </li>
        ))}
      </ul>
      <p class="wrong" role="alert">{wrong}</p>
    </nav>
  );
}

const CAUTION = "Isocyanates: ventilate, gloves, eye protection; never seal in mixed liquid; strap the mold, vents open, face away. The supplier's safety sheet and local rules come first.";

function App() {
  const { parts, heard } = useParts();
  const [table, setTable] = useState<Table | null>(null);
  const [system, setSystem] = useState<System>("metric");
  const [hash, setHash] = useState(location.hash.slice(1));
  const [came, setCame] = useState<string[]>([]);
  const bench = useRef<HTMLElement>(null);
  useEffect(() => {
    json<Table>("/api/table").then(setTable, () => {});
    const moved = () => setHash(location.hash.slice(1));
    addEventListener("hashchange", moved);
    return () => removeEventListener("hashchange", moved);
  }, []);
  const chosen = parts.find((part) => part.id === hash) ?? parts[parts.length - 1];
  const button = (one: System, text: string) => <button type="button" aria-pressed={system === one} onClick={() => setSystem(one)}>{text}</button>;
  return (
    <Units.Provider value={system}>
      <header id="head">
        <div class="name">
          <p class="kind">cavigram</p>
          <h1>{chosen?.name ?? "A part's mesh in; grams, vents and a pour plan out"}</h1>
        </div>
        <div class="units" role="group" aria-label="Which units come first">{button("metric", "metric first")}{button("us", "US first")}</div>
      </header>
      {!heard && <p class="stop" role="alert">cavigram does not answer; look whether it still runs, and open the address that it prints.</p>}
      <Drop few={parts.length === 0} took={(here) => {
        location.hash = here[here.length - 1]?.id ?? "";
        setCame(here.map((part) => part.id));
      }} />
      <Recent open={parts.length === 0} took={(part) => (location.hash = part.id)} />
      <Came ids={came} parts={parts} said={(first) => {
        setCame([]);
        location.hash = first;
      }} />
      {parts.length > 0 && <Tabs parts={parts} chosen={chosen} />}
      {chosen && parts.length > 1 && <Several parts={parts} chosen={chosen} />}
      <main id="bench" ref={bench} tabIndex={-1}>
        {chosen && table && <Bench key={chosen.id} part={chosen} parts={parts} table={table} />}
        {table && <TallyBook rows={table.weighed} />}
      </main>
      <footer><p>{CAUTION}</p><p>{table && `cavigram ${table.version}, on this machine only.`}</p></footer>
    </Units.Provider>
  );
}

render(<App />, document.getElementById("app") as HTMLElement);
