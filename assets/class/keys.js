// The keyboard: what a hand does often has a key, as in the window; who needs single letters for something else puts them off.

import { el, inFront, sheet } from "./dom.js";
import { PACES } from "./time.js";
import { say } from "./words.js";

const KEPT = "idlewright-keys";
/** Every line of the list. */
const LIST = ["space", "paces", "step", "drive", "key", "pedal", "gear", "brake", "loads", "clamp", "ask", "cause", "lid", "mark", "back", "fork", "middle", "hand-in"];
/** What takes the middle. */
const MIDDLES = /** @type {Record<string, string>} */ ({ F2: "engine", F3: "traces", F4: "wheel", F5: "cylinders" });

let on = true;
try {
  on = localStorage.getItem(KEPT) !== "off";
} catch {
  // keys are on
}

/** The list of keys. */
export function showKeys() {
  const s = sheet(say("seat-keys-title"), { away: say("seat-put-away") });
  const box = el("input", {
    type: "checkbox",
    checked: on,
    onChange: () => {
      on = box.checked;
      try {
        localStorage.setItem(KEPT, on ? "on" : "off");
      } catch {
        // for this page alone
      }
    },
  });
  const row = (/** @type {string} */ id) => el("tr", null, el("th", { scope: "row" }, el("kbd", { text: say(`seat-keys-${id}-key`) })), el("td", { text: say(`seat-keys-${id}`) }));
  s.body.append(
    el("p", { class: "soft", text: say("seat-keys-tab") }),
    el("label", null, box, say("seat-keys-on")),
    el("table", null, el("caption", { class: "sight-less", text: say("seat-keys-title") }), el("tbody", null, ...LIST.map(row))),
  );
}

/**
 * @typedef {object} Does what keys do
 * @property {() => boolean} working
 * @property {() => boolean} has a car is there
 * @property {(middle: string) => void} choose
 * @property {(pace: number | null) => void} pace
 * @property {(what: string) => void} step
 * @property {() => void} module
 * @property {() => void} cause
 * @property {() => void} lid
 * @property {() => void} fork
 * @property {() => void} join
 * @property {() => void} handIn
 * @property {(act: any) => void} act
 * @property {(key: string) => any} hands the act of a key, if it has one
 * @property {{ may: () => { pace: boolean }, toggle: () => void, drive: () => void, mark: () => void, back: () => void }} time
 */

/** @param {Does} does */
export function keyboard(does) {
  const plain = /** @type {Record<string, () => void>} */ ({
    o: does.time.drive,
    m: does.module,
    y: does.cause,
    v: does.lid,
    g: does.time.mark,
    r: does.time.back,
    f: does.fork,
    j: does.join,
    F9: does.handIn,
  });
  const paced = /** @type {Record<string, () => void>} */ ({
    " ": does.time.toggle,
    ".": () => does.step("tooth"),
    ",": () => does.step("cycle"),
    ...Object.fromEntries(PACES.map(([pace, , key]) => [key, () => does.pace(pace)])),
  });
  /** @param {string} key @returns {boolean} it did something */
  const byKey = (key) => {
    if (MIDDLES[key]) {
      does.choose(MIDDLES[key]);
      return true;
    }
    if (!does.working()) return false;
    const one = key.length === 1 ? key.toLowerCase() : key;
    if (paced[one]) {
      if (does.time.may().pace) paced[one]();
      return true;
    }
    if (plain[one]) {
      plain[one]();
      return true;
    }
    const act = does.hands(key);
    if (act === undefined) return false;
    does.act(act);
    return true;
  };
  document.addEventListener("keydown", (e) => {
    if (e.ctrlKey || e.metaKey || e.altKey || inFront() || e.defaultPrevented) return;
    const target = /** @type {HTMLElement} */ (e.target);
    if (target.matches("input:not([type=checkbox], [type=radio]), select, textarea")) return;
    if (e.key === "?") {
      showKeys();
      e.preventDefault();
      return;
    }
    if (!on || !does.has()) return;
    // what has the focus is pressed by Space and Enter itself
    if ((e.key === " " || e.key === "Enter") && target.closest("button, a, summary, [role=tab], input")) return;
    if (byKey(e.key)) e.preventDefault();
  });
}
