// The driver's hands: key, pedal, gear, brake, loads, battery clamp.

import { button, el, keyed, oneOf, put, setText } from "./dom.js";
import { number, say } from "./words.js";

/** Keys of the board by control, as in the window. */
export const KEYS = /** @type {Record<string, string>} */ ({
  brake: "B",
  compressor: "C",
  heated_glass: "H",
  lamps: "L",
  steering: "T",
  blower: "A",
  battery: "X",
});
const PLACES = /** @type {Record<string, string>} */ ({ off: "Q", on: "W", crank: "E", park: "P", neutral: "N", drive: "D" });
/** While the pedal is dragged it is sent no more often than this [ms]: each move stands in the logbook. */
const DRAG_MS = 350;

/**
 * @param {(act: any) => void} doIt
 */
export function hands(doIt) {
  const node = el("div", { class: "rows hands" });
  const driver = el("p", { class: "accent small", hidden: true, text: say("seat-hands-driver") });
  const controls = el("div", { class: "rows" });
  node.append(driver, controls);
  /** @type {Record<string, any>} */
  let now = {};
  /** @type {((state: Record<string, any>) => void)[]} */
  let updates = [];
  /** @type {Record<string, Record<string, any>>} */
  let acts = {};

  const radio = (/** @type {any} */ hand, /** @type {(s: Record<string, any>) => string} */ where) => {
    const group = oneOf(
      hand.name,
      hand.of.map((/** @type {any} */ o) => [o.id, o.name, PLACES[o.id]]),
      (/** @type {string} */ id) => doIt(acts[hand.id][id]),
    );
    updates.push((s) => group.show(where(s)));
    return el("div", { class: "hand", "data-hand": hand.id }, el("span", { class: "hand-name", "aria-hidden": "true", text: hand.name }), group.node);
  };

  const pedal = (/** @type {any} */ hand) => {
    const id = "hand-pedal";
    const range = el("input", { id, type: "range", min: 0, max: 100, step: 1, value: 0, "aria-keyshortcuts": "+ -" });
    const out = el("output", { for: id, text: "0 %" });
    let held = false;
    let sent = 0;
    let last = 0;
    const send = () => {
      if (range.valueAsNumber === last) return;
      last = range.valueAsNumber;
      sent = performance.now();
      doIt({ pedal: last });
    };
    range.addEventListener("input", () => {
      held = true;
      setText(out, say("seat-percent", { n: range.value }));
      if (performance.now() - sent > DRAG_MS) send();
    });
    range.addEventListener("change", () => {
      send();
      held = false;
    });
    // a fingertip is no fine tool: one per cent at a time beside the slider
    const by = (/** @type {number} */ step) => {
      const to = Math.max(0, Math.min(100, last + step));
      if (to === last) return;
      last = to;
      range.value = String(last);
      setText(out, say("seat-percent", { n: last }));
      doIt({ pedal: last });
    };
    const less = button("\u2212", () => by(-1), "step");
    put(less, { "aria-label": say("seat-hands-less") });
    const more = button("+", () => by(1), "step");
    put(more, { "aria-label": say("seat-hands-more") });
    const lift = button(say("seat-hands-lift"), () => doIt({ pedal: 0 }), "lift");
    put(lift, { "aria-keyshortcuts": "Backspace" });
    // it has its room from the beginning, so that nothing moves under the finger that presses the pedal
    const mind = el("p", { class: "soft small pedal-mind", role: "status", text: say("seat-hands-pedal-mind") });
    updates.push((s) => {
      put(mind, { class: s.standing && (s.pedal_pct ?? 0) > 0 ? "accent strong small pedal-mind" : "soft small pedal-mind" });
      if (held) return;
      // whole per cents: a slider that rounded what it is shown would take the pedal from a driver who has it
      last = Math.round(s.pedal_pct ?? 0);
      if (range.valueAsNumber !== last) range.value = String(last);
      setText(out, say("seat-percent", { n: number(s.pedal_pct ?? 0, 0) }));
    });
    return el(
      "div",
      { class: "hand-pedal" },
      el(
        "div",
        { class: "row pedal-head" },
        el("label", { for: id, class: "hand-name", text: hand.name }),
        out,
        el("span", { class: "figure meas rpm-now" }),
      ),
      el("div", { class: "pedal" }, less, range, more),
      lift,
      mind,
    );
  };

  const toggle = (/** @type {any} */ hand) => {
    const is = (/** @type {Record<string, any>} */ s) => s[hand.id] === true;
    const key = KEYS[hand.id];
    const b = el(
      "button",
      {
        type: "button",
        role: "switch",
        class: "switch",
        "data-hand": hand.id,
        "aria-checked": "false",
        "aria-keyshortcuts": key,
        onClick: () => doIt(acts[hand.id][is(now) ? "off" : "on"]),
      },
      el("span", { text: hand.name }),
      key ? el("kbd", { "aria-hidden": "true", text: key }) : null,
    );
    updates.push((s) => put(b, { "aria-checked": is(s) }));
    return b;
  };

  let built = "";
  /** @param {any[]} list the controls of this car */
  const offer = (list) => {
    if (JSON.stringify(list) === built) return;
    built = JSON.stringify(list);
    updates = [];
    acts = {};
    for (const hand of list) {
      acts[hand.id] = Object.fromEntries((hand.of ?? []).map((/** @type {any} */ o) => [o.id, o.act]));
    }
    const switches = el("div", { class: "switches" });
    const top = el("div", { class: "rows" });
    for (const hand of list) {
      if (hand.id === "key") top.append(radio(hand, (s) => (s.cranking ? "crank" : s.key_on ? "on" : "off")));
      else if (hand.id === "gear") top.append(radio(hand, (s) => s.gear));
      else if (hand.id === "pedal") top.append(pedal(hand));
      else switches.append(toggle(hand));
    }
    const charger = el("p", { class: "small", hidden: true });
    updates.push((s) => {
      charger.hidden = !s.charger;
      if (s.charger) setText(charger, say("seat-hands-charger", { volts: number(s.charger.v, 1), amps: number(s.charger.a, 1) }));
    });
    controls.replaceChildren(top, switches, charger);
  };

  /** @param {Record<string, any>} state where the controls stand @param {boolean} driving @param {boolean} may */
  const show = (state, driving, may) => {
    now = state;
    driver.hidden = !driving;
    for (const update of updates) update(state);
    for (const b of controls.querySelectorAll("button, input")) {
      /** @type {HTMLButtonElement} */ (b).disabled = !may;
    }
  };

  /**
   * What a key of the keyboard does, if anything.
   * @param {string} key
   * @returns {any} an act
   */
  const byKey = (key) => {
    const upper = key.toUpperCase();
    for (const [id, letter] of Object.entries(KEYS)) {
      if (letter === upper && acts[id]) return acts[id][now[id] === true ? "off" : "on"];
    }
    for (const [place, letter] of Object.entries(PLACES)) {
      if (letter === upper) return acts.key?.[place] ?? acts.gear?.[place];
    }
    const pct = now.pedal_pct ?? 0;
    if (key === "+" || key === "=") return { pedal: Math.min(100, Math.round(pct) + 5) };
    if (key === "-") return { pedal: Math.max(0, Math.round(pct) - 5) };
    if (key === "Backspace") return { pedal: 0 };
    return undefined;
  };
  return { node, offer, show, byKey };
}

/**
 * Plugs as switches: in or out, as everybody sees who looks there.
 * @param {(act: any) => void} doIt
 */
export function plugs(doIt) {
  const list = el("ul", { class: "switches plugs" });
  const price = el("p", { class: "soft small" });
  const node = el("div", { class: "rows" }, price, list);
  /** @param {any[]} items @param {any[]} pulled @param {boolean} may */
  const show = (items, pulled, may) => {
    const out = new Set(pulled.map((c) => JSON.stringify(c)));
    if (items[0]?.price) setText(price, say("seat-each", { price: items[0].price }));
    keyed(
      list,
      items,
      (item) => item.id,
      (item) =>
        el(
          "li",
          null,
          el("button", {
            type: "button",
            role: "switch",
            class: "switch",
            text: item.name,
            onClick: (/** @type {Event} */ e) => {
              const is = /** @type {Element} */ (e.currentTarget).getAttribute("aria-checked") === "true";
              doIt({ connector: [item.connector, !is] });
            },
          }),
        ),
      (li, item) => {
        put(li.firstElementChild, { "aria-checked": !out.has(JSON.stringify(item.connector)) });
        li.firstElementChild.disabled = !may;
      },
    );
  };
  return { node, show };
}
