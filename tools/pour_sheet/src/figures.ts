// SPDX-License-Identifier: GPL-3.0-or-later
// What the sheet shows now: the plan's figures, or those that follow from the knobs.
import type { Live, SheetData, ToldFinding } from "made/sheet_types";
import { type Choice, LIVE_CODES, Refusal, type Result, resultOf } from "./arithmetic";
import { type Notice, told } from "./told";

export interface Figures extends Result {
  choice: Choice;
  changed: boolean; // any knob was turned
  moved: boolean; // that of the density
  findings: ToldFinding[]; // the plan's, those that follow from a knob as they are now
  stops: Notice[];
}

export interface Shown {
  figures: Figures | null; // null: without foam, or refused
  refused: Notice | null;
}

export function planned(live: Live): Choice {
  return {
    density_kg_m3: null,
    waste_share: live.waste_share,
    copies: live.copies,
    scale_readability_g: live.scale_readability_g,
    temperature_c: live.bench?.temperature_c ?? live.taken.at_c,
  };
}

// What is said of another part's mold does not follow the knobs, which are this part's.
export function isOfAnother(data: SheetData, text: ToldFinding["text"]): boolean {
  const first = text[0];
  return typeof first === "string" && (data.plan.foam?.also ?? []).some((also) => first.startsWith(`${also.file}: `));
}

function computed(data: SheetData, live: Live, choice: Choice): Figures {
  const result = resultOf(live, choice);
  const findings: ToldFinding[] = [
    ...result.notices.map((notice) => ({ ...notice, at_mm: [] })),
    ...data.findings.filter((finding) => !LIVE_CODES.includes(finding.code) || isOfAnother(data, finding.text)),
  ];
  const order = { stop: 0, warning: 1, note: 2 };
  findings.sort((p, q) => order[p.severity] - order[q.severity]);
  return {
    ...result,
    choice,
    changed: JSON.stringify(choice) !== JSON.stringify(planned(live)),
    moved: choice.density_kg_m3 !== null,
    findings,
    stops: findings.filter((finding) => finding.severity === "stop"),
  };
}

// A field that holds no number leaves nothing to compute, and so does a choice that is refused.
export function shown(data: SheetData, choice: Choice, unread: string | null): Shown {
  const refuse = (text: Notice["text"]): Shown => ({ figures: null, refused: { severity: "stop", code: "refused", text } });
  if (!data.live) return { figures: null, refused: null };
  if (unread !== null) return refuse(told`${unread}: give a number.`);
  try {
    return { figures: computed(data, data.live, choice), refused: null };
  } catch (error) {
    if (!(error instanceof Refusal)) throw error;
    return refuse(error.told);
  }
}
