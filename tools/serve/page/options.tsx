// SPDX-License-Identifier: GPL-3.0-or-later
// Everything that options can say, from the program's own table: names, help, limits and refusals
// are those of the command line.
import { useEffect, useState } from "preact/hooks";
import { Panel } from "../../pour_sheet/src/parts";
import { type OptionRow, type PartState, type Refused, type Table, change } from "./api";

const title = (name: string) => name.charAt(0).toUpperCase() + name.slice(1).replaceAll("-", " ");

function Value({ row, text, set, others }: { row: OptionRow; text: string; set: (texts: string[] | null) => void; others: PartState[] }) {
  const id = `option-${row.name}`;
  const [typed, setTyped] = useState(text);
  useEffect(() => setTyped(text), [text]);
  const about = `${id}-help ${id}-wrong`;
  if (row.flag) return <input id={id} type="checkbox" checked={text === "true"} aria-describedby={about} onChange={(event) => set(event.currentTarget.checked ? ["true"] : null)} />;
  if (row.name === "also") {
    return (
      <select id={id} multiple size={Math.max(2, Math.min(4, others.length))} aria-describedby={about} onChange={(event) => {
        const chosen = [...event.currentTarget.selectedOptions].map((one) => one.value);
        set(chosen.length > 0 ? chosen : null);
      }}>
        {others.map((one) => <option key={one.id} value={one.id} selected={text.split("\n").includes(one.id)}>{one.name}</option>)}
      </select>
    );
  }
  if (row.words.length > 0) {
    return (
      <select id={id} value={text} aria-describedby={about} onChange={(event) => set(event.currentTarget.value === "" ? null : [event.currentTarget.value])}>
        <option value="">(not set)</option>
        {(row.words.includes(text) || text === "" ? row.words : [...row.words, text]).map((word) => <option key={word} value={word}>{word}</option>)}
      </select>
    );
  }
  const commit = () => {
    const lines = typed.split(row.list ? "\n" : "\u0000").map((line) => line.trim()).filter((line) => line !== "");
    if (lines.join("\n") !== text) set(lines.length > 0 ? lines : null);
  };
  if (row.list) return <textarea id={id} rows={2} value={typed} placeholder={`${row.example}\none a line`} aria-describedby={about} onInput={(event) => setTyped(event.currentTarget.value)} onBlur={commit} />;
  return (
    <input
      id={id} value={typed} placeholder={row.example} aria-describedby={about}
      onInput={(event) => setTyped(event.currentTarget.value)} onBlur={commit}
      onKeyDown={(event) => event.key === "Enter" && commit()}
    />
  );
}

function Option({ row, part, others }: { row: OptionRow; part: PartState; others: PartState[] }) {
  const [wrong, setWrong] = useState("");
  const given = part.options[row.name];
  const set = async (texts: string[] | null) => {
    try {
      await change(part.id, { [row.name]: texts });
      setWrong("");
    } catch (error) {
      setWrong((error as Refused).message);
    }
  };
  const id = `option-${row.name}`;
  return (
    <div class={given ? "option given" : "option"}>
      <label for={id}>{title(row.name)}</label>
      <Value row={row} text={given?.join("\n") ?? ""} set={set} others={others} />
      <p class="hint" id={`${id}-help`}>{row.help}{row.takes !== "" && !row.takes.startsWith("a word") ? `; ${row.takes}` : ""}</p>
      <p class="wrong" id={`${id}-wrong`} role="alert">{wrong}</p>
    </div>
  );
}

export function Options({ table, part, parts }: { table: Table; part: PartState; parts: PartState[] }) {
  const [sought, setSought] = useState("");
  const others = parts.filter((one) => one.id !== part.id);
  const fits = (row: OptionRow) => `${row.name} ${row.help} ${row.group}`.toLowerCase().includes(sought.trim().toLowerCase());
  const rows = table.options.filter((row) => fits(row) && (row.name !== "also" || others.length > 0));
  const groups = [...new Set(rows.map((row) => row.group))];
  const count = (group: string) => rows.filter((row) => row.group === group && part.options[row.name]).length;
  return (
    <Panel title="What you know better" kind="options">
      <label class="seek">Find an option <input type="search" value={sought} placeholder="density" onInput={(event) => setSought(event.currentTarget.value)} /></label>
      <div class="groups">
        {groups.map((group) => (
          <details key={group} open={sought !== ""}>
            <summary>{group}{count(group) > 0 ? ` (${count(group)} set)` : ""}</summary>
            {rows.filter((row) => row.group === group).map((row) => <Option key={`${part.id} ${row.name}`} row={row} part={part} others={others} />)}
          </details>
        ))}
      </div>
    </Panel>
  );
}
