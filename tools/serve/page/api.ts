// SPDX-License-Identifier: GPL-3.0-or-later
// What the server is asked, and what it tells by itself.
import { useEffect, useState } from "preact/hooks";

export interface Step {
  name: "part" | "grams" | "plan";
  state: "waiting" | "running" | "done";
  version: number;
}

export type Values = Record<string, string[]>;

// A part as the server has it; the page keeps nothing of its own.
export interface PartState {
  id: string;
  name: string;
  bytes: number;
  serial: number; // of the state
  version: number; // of the options
  mode: "working" | "stopped" | "failed" | "done";
  error: string;
  options: Values;
  steps: Step[];
  phase: string;
  share: number;
  waits: boolean;
}

// What its work is at.
export function modeWords(part: PartState): string {
  if (part.mode === "working") return part.waits ? "waits for its turn" : `${part.phase} ${Math.round(100 * part.share)} %`;
  return { stopped: "stopped", failed: "could not go on", done: "all done" }[part.mode];
}

export interface OptionRow {
  name: string;
  group: string;
  help: string;
  takes: string;
  example: string;
  flag: boolean;
  list: boolean;
  words: string[];
}

export interface Table {
  version: string;
  options: OptionRow[];
  weighed: OptionRow[]; // what can be said of a casting
}

// What the server refused, in its own sentence.
export class Refused extends Error {
  constructor(
    message: string,
    readonly status = 0,
  ) {
    super(message);
  }
}

async function asked(method: string, path: string, body?: BodyInit): Promise<Response> {
  let response: Response;
  try {
    response = await fetch(path, { method, body });
  } catch {
    throw new Refused("cavigram does not answer; look whether it still runs.");
  }
  if (!response.ok) throw new Refused((await response.text()).trim(), response.status);
  return response;
}

export async function json<T>(path: string): Promise<T> {
  return (await asked("GET", path)).json() as Promise<T>;
}

export async function words(path: string): Promise<string> {
  return (await (await asked("GET", path)).text()).trim();
}

export async function ask(method: "POST" | "DELETE", path: string): Promise<void> {
  await asked(method, path);
}

export async function posted<T>(path: string): Promise<T> {
  return (await asked("POST", path)).json() as Promise<T>;
}

export async function sent<T>(method: "POST" | "PUT", path: string, body: unknown): Promise<T> {
  return (await asked(method, path, JSON.stringify(body))).json() as Promise<T>;
}

export async function send(file: File): Promise<PartState> {
  return (await asked("POST", `/api/parts?name=${encodeURIComponent(file.name)}`, file)).json() as Promise<PartState>;
}

// Null takes an option away.
export async function change(id: string, changes: Record<string, string[] | null>): Promise<void> {
  await asked("PUT", `/api/parts/${id}/options`, JSON.stringify(changes));
}

// All parts, as they change. A page that is not looked at does not listen: browsers have few
// connections to a server, and many tabs.
export function useParts(): { parts: PartState[]; heard: boolean } {
  const [parts, setParts] = useState<PartState[]>([]);
  const [heard, setHeard] = useState(true);
  useEffect(() => {
    let source: EventSource | null = null;
    let fresh: string[] = [];
    const data = (event: Event) => JSON.parse((event as MessageEvent<string>).data);
    const listen = () => {
      source?.close();
      source = null;
      if (document.hidden) return;
      fresh = [];
      source = new EventSource("/api/events");
      source.addEventListener("open", () => {
        fresh = [];
        setHeard(true);
      });
      source.addEventListener("error", () => setHeard(false));
      source.addEventListener("part", (event) => {
        const part = data(event) as PartState;
        fresh.push(part.id);
        setParts((all) => {
          const known = all.find((one) => one.id === part.id);
          if (!known) return [...all, part];
          return known.serial > part.serial ? all : all.map((one) => (one.id === part.id ? part : one));
        });
      });
      source.addEventListener("gone", (event) => {
        const { id } = data(event) as { id: string };
        setParts((all) => all.filter((one) => one.id !== id));
      });
      // What belongs to no part (shared_log.ts).
      for (const name of ["tally", "recent", "ready"]) source.addEventListener(name, () => dispatchEvent(new Event(`cavigram-${name}`)));
      // All that there are have been told: what was not is gone.
      source.addEventListener("ready", () => setParts((all) => all.filter((one) => fresh.includes(one.id))));
    };
    listen();
    document.addEventListener("visibilitychange", listen);
    return () => {
      document.removeEventListener("visibilitychange", listen);
      source?.close();
    };
  }, []);
  return { parts, heard };
}

export interface Finding {
  severity: "note" | "warning" | "stop";
  code: string;
  text: string;
}

// The blocks of plan.json (docs/json.md) that the page shows itself.
export interface PlanJson {
  input: { file: string; format: string; triangles: number; units: string; units_source: string; scale: number };
  repair: { verdict: string; faults: { kind: string; count: number; places_mm: number[][] }[]; steps: { action: string; count: number; volume_change_mm3: number; places_mm: number[][] }[] };
  measures: { volume_mm3: number; volume_low_mm3: number; volume_high_mm3: number; area_mm2: number; bounds_min_mm: number[]; bounds_max_mm: number[]; shells: number };
  batch?: { part_a_g: number; part_b_g: number; pigment_g: number; scale_readability_g: number; cups_each: number; cup_ml: number };
  foam?: { skin_thickness_mm: number; skin_density_kg_m3: number; core_density_kg_m3: number; skin_profile: "step" | "exponential" };
  air?: { up: [number, number, number] };
  window?: { fills_from_g: number; planned_g: number; presses_over_g: number };
  findings: Finding[];
}

export interface Known {
  version: number;
  plan: PlanJson;
}

// The latest result of a step; the one before stays until the next is there.
export function useResult(part: PartState, step: "part" | "grams" | "plan"): Known | null {
  const [known, setKnown] = useState<(Known & { id: string }) | null>(null);
  const at = part.steps.find((one) => one.name === step);
  const version = at && at.state === "done" ? at.version : 0;
  useEffect(() => {
    if (version === 0) return;
    let wanted = true;
    json<PlanJson>(`/api/parts/${part.id}/${step}.json`).then(
      (plan) => wanted && setKnown({ id: part.id, version, plan }),
      () => {}, // the options have changed meanwhile; the next state tells of it
    );
    return () => {
      wanted = false;
    };
  }, [part.id, step, version]);
  return known?.id === part.id ? known : null;
}
