// The bar that stands on every page: engine speed, how a routine stands and what it waits for, what was done last.

import { el, put, setText } from "./dom.js";
import { number, say } from "./words.js";

/** What was refused stays so long, unless something else is done before [ms]. */
const REFUSED_MS = 30_000;

/** What a routine waits for, in words; none where only the server's sentence says it. @param {any} what */
function waits(what) {
  if (what === "let_go") return say("seat-routine-let-go");
  const hold = what?.hold;
  if (!hold) return null;
  return say("seat-routine-hold", { low: number(hold.low_rpm, 0), high: number(hold.high_rpm, 0), seconds: number(hold.for_s, 0) });
}

/** The bar. */
export function routineBar() {
  const speed = el("output", { class: "rpm-now" });
  const name = el("span", { class: "routine-name" });
  const wants = el("span", { class: "routine-wants" });
  const routine = el("p", { class: "routine", role: "status", "data-stands": "none" }, name, " ", wants);
  const said = el("p", { class: "said", role: "status", "aria-live": "polite" });
  const node = el(
    "section",
    { id: "now", "aria-label": say("seat-now") },
    el("p", { class: "now-speed" }, el("span", { class: "soft small", text: say("seat-now-speed") }), speed),
    routine,
    said,
  );
  let wrong = false;
  let timer = 0;
  let endedAt = -1;
  let ran = false;

  /** @param {string} text @param {boolean} refused */
  const tell = (text, refused) => {
    wrong = refused;
    setText(said, text);
    put(said, { class: refused ? "said accent strong" : "said" });
    clearTimeout(timer);
    if (refused) timer = window.setTimeout(clear, REFUSED_MS);
  };
  /** What was refused is over. */
  const clear = () => {
    if (!wrong) return;
    wrong = false;
    setText(said, "");
  };

  /**
   * @param {any} live @param {string | null} sentence how the routine stands, as the server says it @param {string} which its name
   * @param {any[]} acts what was done so far; other lines of the logbook are null
   * @param {boolean} works the car was not handed over yet
   */
  const show = (live, sentence, which, acts, works) => {
    const state = live.routine ?? "none";
    if (!works) {
      setText(name, "");
      setText(wants, "");
      return;
    }
    if (ran && state === "none") endedAt = acts.length;
    ran = state === "running";
    if (endedAt > acts.length) endedAt = -1;
    // the pedal is still moving when a routine ends: that is no answer to it
    const over = endedAt >= 0 && !acts.slice(endedAt).some((a) => a !== null && a?.pedal === undefined);
    const now = ran ? waits(live.routine_waits_for) : null;
    setText(name, ran || over ? which : "");
    setText(wants, ran ? (now ?? sentence ?? "") : over ? (sentence ?? say("seat-routine-ended")) : "");
    const urgent = (ran && live.routine_waits_for === "let_go") || (over && !ran && state !== "done");
    put(routine, { class: `routine${urgent ? " urgent" : ""}${ran ? " runs" : ""}`, "data-stands": state });
  };
  return {
    node,
    tell,
    clear,
    show,
    /** A routine ended with so many lines in the logbook. @param {number} at */
    ended: (at) => {
      endedAt = at;
    },
    refused: () => wrong,
    forget: () => {
      endedAt = -1;
      ran = false;
      wrong = false;
      setText(said, "");
    },
  };
}
