// SPDX-License-Identifier: GPL-3.0-or-later
// Parts that were here before: they stay on the machine until they are forgotten.
import { useState } from "preact/hooks";
import { type PartState, type Refused, ask, posted } from "./api";
import { useLogged } from "./shared_log";

interface RecentParts {
  keeps: boolean;
  folder: string;
  most_parts: number;
  most_bytes: number;
  parts: { id: string; name: string; bytes: number; used_ms: number }[];
}

export const sized = (bytes: number) => (bytes < 1e6 ? `${Math.ceil(bytes / 1e3)} kB` : `${(bytes / 1e6).toPrecision(3)} MB`);

export function Recent({ open, took }: { open: boolean; took: (part: PartState) => void }) {
  const { known } = useLogged<RecentParts>("/api/recent", "recent");
  const [wrong, setWrong] = useState("");
  if (!known) return null;
  if (!known.keeps) return <p class="hint recent">Nothing stays for the next start.</p>;
  if (known.parts.length === 0) return null;
  const tried = (work: Promise<unknown>) => work.then(() => setWrong(""), (error: Refused) => setWrong(error.message));
  return (
    <details class="recent" open={open}>
      <summary>Recent parts ({known.parts.length})</summary>
      <ul>
        {known.parts.map((part) => (
          <li key={part.id}>
            <button type="button" class="name" onClick={() => tried(posted<PartState>(`/api/recent/${part.id}/open`).then(took))}>{part.name}</button>
            <span class="sign">{sized(part.bytes)}, {new Date(part.used_ms).toLocaleString()}</span>
            <button type="button" aria-label={`Forget ${part.name}`} onClick={() => tried(ask("DELETE", `/api/recent/${part.id}`))}>Forget</button>
          </li>
        ))}
      </ul>
      <p class="hint">
        Copies of the last {known.most_parts} parts, {known.most_bytes / 2 ** 30} GiB at most, are kept in {known.folder} for you alone.{" "}
        <button type="button" onClick={() => tried(ask("DELETE", "/api/recent"))}>Forget them all</button>
      </p>
      <p class="wrong" role="alert">{wrong}</p>
    </details>
  );
}
