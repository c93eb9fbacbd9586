// SPDX-License-Identifier: GPL-3.0-or-later
// The casting log: what came out of the mold, written down beside its plan. Names, limits, doubts
// and refusals are those of `cavigram tally`.
import { useState } from "preact/hooks";
import { Panel } from "../../pour_sheet/src/parts";
import { general } from "../../pour_sheet/src/told";
import { type OptionRow, type PartState, type PlanJson, Refused, type Values, ask, sent } from "./api";
import { type Chart, CastingsChart, outsiders } from "./castings_chart";
import { useLogged } from "./shared_log";

interface Casting {
  number: number;
  text: string;
  date: string;
  part: string;
  mold: string;
  foam: string;
  mix: string;
  verdict: string;
  note: string;
  cup_mass_g: number | null;
  part_mass_g: number | null;
  flash_mass_g: number | null;
  stayed_mass_g: number | null;
  free_rise_mass_g: number | null;
  free_rise_volume_ml: number | null;
  temperature_c: number | null;
}

interface Log {
  file: string;
  castings: Casting[];
  history: string;
  fits: { foam: string; mix: string; text: string; chart: Chart }[];
}

// Beside the plan: its foam, mix and temperature are the plan's.
const OF_PLAN = ["foam", "mix", "temperature"];
const FIRST = ["part-mass", "cup", "verdict", "mold", "note"];
const title = (name: string) => name.charAt(0).toUpperCase() + name.slice(1).replaceAll("-", " ");

// What a casting has there now, as it would be typed.
function standing(casting: Casting, name: string): string {
  const grams = (value: number | null) => (value === null ? "" : `${general(value)} g`);
  switch (name) {
    case "cup": return grams(casting.cup_mass_g);
    case "part-mass": return grams(casting.part_mass_g);
    case "flash": return grams(casting.flash_mass_g);
    case "stayed": return grams(casting.stayed_mass_g);
    case "free-rise-mass": return grams(casting.free_rise_mass_g);
    case "free-rise-volume": return casting.free_rise_volume_ml === null ? "" : `${general(casting.free_rise_volume_ml)} ml`;
    case "temperature": return casting.temperature_c === null ? "" : `${general(casting.temperature_c)} C`;
    case "mold": return casting.mold;
    case "verdict": return casting.verdict;
    case "note": return casting.note;
    case "date": return casting.date;
    case "foam": return casting.foam;
    case "mix": return casting.mix;
    default: return "";
  }
}

// Fields for rows of the table, and what to do with what is typed. What looks like a slip is asked
// about, and logged where the person says that it is none.
function Entry({ id, rows, first, hint, action, send, done }: { id: string; rows: OptionRow[]; first: string[]; hint: (row: OptionRow) => string; action: string; send: (entry: Values) => Promise<string>; done: (said: string) => void }) {
  const [typed, setTyped] = useState<Record<string, string>>({});
  const [wrong, setWrong] = useState("");
  const [doubted, setDoubted] = useState(false);
  const [busy, setBusy] = useState(false);
  const type = (name: string, text: string) => {
    setTyped((all) => ({ ...all, [name]: text }));
    setDoubted(false);
  };
  const submit = async (yes: boolean) => {
    const entry: Values = yes ? { yes: ["true"] } : {};
    for (const [name, text] of Object.entries(typed)) if (text.trim() !== "") entry[name] = [text.trim()];
    setBusy(true);
    setWrong("");
    try {
      const said = await send(entry);
      setTyped({});
      setDoubted(false);
      done(said);
    } catch (error) {
      setDoubted((error as Refused).status === 409);
      setWrong((error as Refused).message);
    }
    setBusy(false);
  };
  const field = (row: OptionRow) => {
    const at = `${id}-${row.name}`;
    const shared = { id: at, value: typed[row.name] ?? "", "aria-describedby": `${at}-help` };
    return (
      <div class="option" key={row.name}>
        <label for={at}>{title(row.name)}</label>
        {row.words.length > 0 ? (
          <select {...shared} onChange={(event) => type(row.name, event.currentTarget.value)}>
            <option value="">{hint(row) === "" ? "(not said)" : hint(row)}</option>
            {row.words.map((word) => <option key={word} value={word}>{word}</option>)}
          </select>
        ) : (
          <input {...shared} placeholder={hint(row)} onInput={(event) => type(row.name, event.currentTarget.value)} />
        )}
        <p class="hint" id={`${at}-help`}>{row.help}</p>
      </div>
    );
  };
  const fields = rows.filter((row) => row.name !== "yes");
  const more = fields.filter((row) => !first.includes(row.name));
  return (
    <form class="entry" onSubmit={(event) => {
      event.preventDefault();
      submit(false);
    }}>
      <div class="groups">{first.map((name) => fields.find((row) => row.name === name)).filter((row) => row !== undefined).map(field)}</div>
      {more.length > 0 && <details><summary>More that was weighed or is worth knowing</summary><div class="groups">{more.map(field)}</div></details>}
      <p class="wrong" role="alert">{wrong}</p>
      <p class="tools">
        <button type="submit" disabled={busy}>{busy ? "Measuring and logging ..." : action}</button>
        {doubted && <button type="button" disabled={busy} onClick={() => submit(true)}>It is so: {action.toLowerCase()} all the same (--yes)</button>}
      </p>
    </form>
  );
}

// Beside the plan of the part on the bench.
export function LogCasting({ part, plan, rows }: { part: PartState; plan: PlanJson; rows: OptionRow[] }) {
  const [said, setSaid] = useState("");
  const planned = plan.batch ? general(plan.batch.part_a_g + plan.batch.part_b_g, 4) : "";
  const cups = plan.batch && plan.batch.cups_each > 1;
  const hint = (row: OptionRow) => (row.name === "cup" && planned !== "" && !cups ? `planned: ${planned} g` : row.name === "verdict" ? "good" : row.name === "date" ? "today" : `such as ${row.example}`);
  const send = async (entry: Values) => (await sent<Casting>("POST", `/api/tally/castings?part=${part.id}`, entry)).text.trim().replace(/ +/g, " ");
  return (
    <Panel title="What did it weigh?" kind="log">
      <p class="hint">Log each casting of {part.name}: from a few of them the program learns your foam's own skin, density and waste. Volume, foam, mix and temperature are those of the plan above.</p>
      <Entry id="weighed" rows={rows.filter((row) => !OF_PLAN.includes(row.name))} first={FIRST} hint={hint} action="Log it" send={send} done={(text) => setSaid(`Logged: ${text}`)} />
      <p role="status" class="logged">{said}</p>
    </Panel>
  );
}

function Line({ casting, rows, tell }: { casting: Casting; rows: OptionRow[]; tell: (said: string) => void }) {
  const [doing, setDoing] = useState<"" | "correct" | "remove">("");
  const [wrong, setWrong] = useState("");
  const at = `/api/tally/castings/${casting.number}`;
  const remove = () =>
    ask("DELETE", at).then(
      () => tell(`Removed: ${casting.text.trim()}`),
      (error: Refused) => setWrong(error.message),
    );
  const correct = async (entry: Values) => {
    const { was, now } = await sent<{ was: Casting; now: Casting }>("PUT", at, entry);
    return `Was: ${was.text.trim()} Now: ${now.text.trim()}`;
  };
  return (
    <li>
      <span class="casting">{casting.text}</span>
      <span class="tools">
        <button type="button" aria-expanded={doing === "correct"} aria-label={`Correct casting ${casting.number}`} onClick={() => setDoing(doing === "correct" ? "" : "correct")}>Correct</button>
        <button type="button" aria-expanded={doing === "remove"} aria-label={`Remove casting ${casting.number}`} onClick={() => setDoing(doing === "remove" ? "" : "remove")}>Remove</button>
      </span>
      {doing === "correct" && (
        <Entry
          id={`correct-${casting.number}`} rows={rows} first={[...FIRST]} hint={(row) => standing(casting, row.name)} action="Correct it" send={correct}
          done={(text) => {
            setDoing("");
            tell(text);
          }}
        />
      )}
      {doing === "remove" && <p class="tools"><button type="button" onClick={remove}>Take casting {casting.number} out</button> <span class="hint">It stays in the history; its number is not used again.</span></p>}
      <p class="wrong" role="alert">{wrong}</p>
    </li>
  );
}

function Fit({ fit }: { fit: Log["fits"][number] }) {
  const outside = outsiders(fit.chart);
  const name = `${fit.foam} ${fit.mix}`;
  return (
    <section aria-label={name}>
      <h3>{name}</h3>
      {fit.chart.points.length > 0 && <CastingsChart chart={fit.chart} name={name} />}
      {fit.chart.band.length > 0 && <p class="hint">The line is the fit through all. The band{outside.length > 0 ? ", drawn from the others alone," : ""} holds the next casting 95 times of 100, for a part of {general(fit.chart.band_volume_mm3 / 1000, 3)} mL. Hollow: short, lost or impossible, and not in the fit.</p>}
      {outside.length > 0 && <p class="late">Outside of what the others foretell, as 1 of 20 is by chance: {outside.length > 1 ? "castings" : "casting"} {outside.join(", ")}. Weigh again, or look at mesh, verdict and mold.</p>}
      <pre class="line" tabIndex={0} aria-label={`What the castings of ${name} say`}>{fit.text}</pre>
    </section>
  );
}

export function TallyBook({ rows }: { rows: OptionRow[] }) {
  const { known, wrong } = useLogged<Log>("/api/tally", "tally");
  const [said, setSaid] = useState("");
  const [failed, setFailed] = useState("");
  if (wrong !== "") return <Panel title="This shop's castings" kind="tally"><p class="stop" role="alert">{wrong}</p></Panel>;
  if (!known || (known.castings.length === 0 && known.history === "" && said === "")) return null;
  const last = known.castings[known.castings.length - 1];
  const back = (casting: Casting) =>
    ask("DELETE", `/api/tally/castings/${casting.number}`).then(
      () => {
        setSaid(`Taken back: ${casting.text.trim()}`);
        setFailed("");
      },
      (error: Refused) => setFailed(error.message),
    );
  return (
    <Panel title="This shop's castings" kind="tally">
      <p class="tools">
        {last && <button type="button" onClick={() => back(last)}>Take back casting {last.number}, the last one</button>}
        <a class="button" href="/api/tally/castings.csv" download="">Save as CSV</a>
        <span class="hint">In {known.file}</span>
      </p>
      <p role="status" class="logged">{said}</p>
      <p class="wrong" role="alert">{failed}</p>
      <div class="fits">{known.fits.map((fit) => <Fit key={`${fit.foam} ${fit.mix}`} fit={fit} />)}</div>
      <ol class="castings">{known.castings.map((casting) => <Line key={casting.number} casting={casting} rows={rows} tell={setSaid} />)}</ol>
      {known.history !== "" && <details><summary>What was corrected or removed</summary><pre class="line" tabIndex={0} aria-label="History">{known.history}</pre></details>}
    </Panel>
  );
}
