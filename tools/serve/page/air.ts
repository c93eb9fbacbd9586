// SPDX-License-Identifier: GPL-3.0-or-later
// The air for other ways up, as the server computes it: one question at a time, and of those that
// came meanwhile the last.
import type { Place, TurnedAir } from "made/sheet_types";
import { Refused, json } from "./api";

// Options that are tried while the part is turned; an empty list stands for none.
export type Tried = Partial<Record<"pour-hole" | "vent" | "show", string[]>>;

// As options take it, and no finer: what is shown is what is planned then.
export const directionText = (up: Place) => up.map((x) => String(Number(x.toFixed(4)) + 0)).join(",");
export const placeText = (at: Place) => at.map((x) => String(Number(x.toFixed(2)) + 0)).join(",");

export function question(up: Place, tried: Tried): string {
  const words = [`up=${encodeURIComponent(directionText(up))}`];
  for (const [name, texts] of Object.entries(tried)) words.push(`${name}=${encodeURIComponent(texts.join(";"))}`);
  return words.join("&");
}

export const airFor = (part: string, asked: string) => json<TurnedAir>(`/api/parts/${part}/air?${asked}`);

const BUSY = 409;
const AGAIN_MS = 250;

export class Asker {
  private wanted: string | null = null;
  private asking = false;
  private paused = false;
  private left = false;

  constructor(
    private readonly part: string,
    private readonly told: (asked: string, air: TurnedAir) => void,
    private readonly refused: (sentence: string) => void,
  ) {}

  want(asked: string): void {
    this.paused = false;
    this.wanted = asked;
    if (!this.asking) this.ask();
  }

  // What is on its way is told, and nothing more is asked for.
  pause(): void {
    this.wanted = null;
    this.paused = true;
  }

  // Nothing is told any more.
  leave(): void {
    this.left = true;
    this.pause();
  }

  private async ask(): Promise<void> {
    this.asking = true;
    while (this.wanted !== null) {
      const asked = this.wanted;
      this.wanted = null;
      try {
        const air = await airFor(this.part, asked);
        if (!this.left) this.told(asked, air);
      } catch (error) {
        const { status, message } = error as Refused;
        if (this.left) break;
        this.refused(message);
        if (status !== BUSY) continue;
        await new Promise((resolve) => setTimeout(resolve, AGAIN_MS));
        this.wanted ??= this.paused ? null : asked;
      }
    }
    this.asking = false;
  }
}
