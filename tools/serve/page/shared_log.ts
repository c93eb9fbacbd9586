// SPDX-License-Identifier: GPL-3.0-or-later
// What belongs to no part: the casting log and the recent parts. The server says when they changed.
import { useCallback, useEffect, useState } from "preact/hooks";
import { json } from "./api";

// What is at an address, read again when the server says so, when it is heard again after a pause,
// and when the page is looked at again: another program may have changed it.
export function useLogged<T>(path: string, event: "tally" | "recent"): { known: T | null; wrong: string; reload: () => void } {
  const [known, setKnown] = useState<T | null>(null);
  const [wrong, setWrong] = useState("");
  const reload = useCallback(() => {
    json<T>(path).then(
      (value) => {
        setKnown(value);
        setWrong("");
      },
      (error: Error) => setWrong(error.message),
    );
  }, [path]);
  useEffect(() => {
    reload();
    const events = [`cavigram-${event}`, "cavigram-ready"];
    for (const one of events) addEventListener(one, reload);
    return () => {
      for (const one of events) removeEventListener(one, reload);
    };
  }, [reload, event]);
  return { known, wrong, reload };
}
