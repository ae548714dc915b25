// The wall: what every seat does, and what the instructor lets the class do. It is the one page that may show truth.

import { button, el, fill, keyed, put, setText, svg, whenChanged } from "./dom.js";
import { Link } from "./link.js";
import { startLook, themeChoice, unitsChoice } from "./look.js";
import { assignSheet, examSheet, marksSheet, noteSheet, questionSheet, slipSheet } from "./wall-orders.js";
import { comparePage, lookSheet, projectPage } from "./wall-look.js";
import { clock, inUnits, loadWords, number, say } from "./words.js";

startLook();
await loadWords();
document.title = say("wall-title");

/** A seat that has done nothing for so long may need a hand [s]. */
const STUCK_S = 120;

/**
 * @typedef {object} Tile
 * @property {number} seat
 * @property {string} word
 * @property {boolean} present
 * @property {string | null} lesson
 * @property {number} attempt
 * @property {string} state
 * @property {string} [stage_text]
 * @property {string | null} cause
 * @property {boolean | null} cause_right
 * @property {number} rpm
 * @property {"off" | "bulb_check" | "on" | "blink"} lamp
 * @property {boolean} turning
 * @property {number} minutes
 * @property {number} money
 * @property {number} stuck_s
 * @property {number} time_s
 * @property {number | null} pace
 * @property {boolean} paused
 * @property {boolean} [asks] a question holds an act back
 * @property {any} mark
 * @property {any} allowed
 * @property {number[]} [seen_copy_of]
 */

export const W = {
  class: /** @type {any} */ ({}),
  lessons: /** @type {any[]} */ ([]),
  settings: /** @type {any} */ ({}),
  faults: /** @type {any[]} */ ([]),
  /** Recorded signals with their units. */
  signals: /** @type {any[]} */ ([]),
  /** Faults by level. @type {{ id: string, level: number, name: string }[]} */
  surprises: [],
  tiles: /** @type {Map<number, Tile>} */ (new Map()),
  chosen: /** @type {Set<number>} */ (new Set()),
  bars: /** @type {any} */ (null),
  /** The question whose bars were put away. */
  ended: "",
  /** What waits for an answer, by an order's number. */
  answers: /** @type {Map<number, (done: any) => void>} */ (new Map()),
  /** @type {((message: any) => void)[]} */
  listeners: [],
};

const [mode, which] = location.hash.slice(1).split("=");
const said = el("p", { class: "said", role: "status" });
const lost = el("p", { class: "line", role: "status", hidden: true });

let counted = 0;
const link = new Link("wall/ws", "idlewright-wall", {
  message,
  refused: () => {},
  line: (state) => {
    setText(lost, state === "lost" ? say("wall-line-lost") : "");
    lost.hidden = state !== "lost";
  },
});

/**
 * An order; what comes of it is told.
 * @param {string} kind @param {any} [with_] @param {(done: any) => void} [then]
 */
export function order(kind, with_ = {}, then) {
  const n = ++counted;
  if (then) W.answers.set(n, then);
  link.tell({ kind, n, ...with_ });
  return n;
}

/** What is only looked at. @param {any} m */
export function ask(m) {
  link.tell(m);
}

/** Those that an order is for: the ones that are chosen, else all. */
export function to() {
  return W.chosen.size ? [...W.chosen] : "all";
}

/** The seats that an order is for. @returns {Tile[]} */
export function meant() {
  const all = [...W.tiles.values()];
  return W.chosen.size ? all.filter((t) => W.chosen.has(t.seat)) : all;
}

/** @param {string} text */
export function tell(text) {
  setText(said, text);
}

/** @param {any} m */
function message(m) {
  switch (m.kind) {
    case "hello":
      W.class = m.class;
      W.lessons = m.lessons ?? [];
      W.settings = m.settings ?? {};
      W.faults = m.faults ?? [];
      W.signals = m.signals ?? [];
      W.surprises = m.surprises ?? [];
      link.welcome(`wall ${m.class?.word}`, 0);
      begin();
      break;
    case "tiles":
      if (m.whole) {
        const there = new Set(m.tiles.map((/** @type {Tile} */ t) => t.seat));
        for (const seat of [...W.tiles.keys()]) if (!there.has(seat)) W.tiles.delete(seat);
      }
      for (const t of m.tiles) W.tiles.set(t.seat, { ...W.tiles.get(t.seat), ...t });
      for (const seat of [...W.chosen]) if (!W.tiles.has(seat)) W.chosen.delete(seat);
      break;
    case "bars":
      if (m.ask !== W.ended) W.bars = m;
      break;
    case "done": {
      const then = W.answers.get(m.n);
      W.answers.delete(m.n);
      // what is only looked at has no number, and is answered by what is seen
      if (m.refused) tell(m.refused);
      else if (m.n === null || m.n === undefined) break;
      else {
        if (m.text) tell(m.code ? say("wall-code", { text: m.text, code: m.code }) : m.text);
        then?.(m);
      }
      break;
    }
    case "copies":
      for (const pair of m.pairs ?? []) {
        for (const one of pair.seats) {
          const tile = W.tiles.get(one);
          if (tile) tile.seen_copy_of = pair.seats.filter((/** @type {number} */ other) => other !== one);
        }
        tell(say("wall-copies", { seats: pair.seats.map((/** @type {number} */ s) => W.tiles.get(s)?.word ?? s).join(", "), n: pair.acts, s: number(pair.within_s, 0) }));
      }
      break;
  }
  for (const listen of W.listeners) listen(m);
  show();
}

/** What this page shows is asked for again after every connection. */
function begin() {
  if (mode === "project") ask({ kind: "project", seat: Number(which) });
  else if (mode === "compare") W.listeners.forEach((l) => l({ kind: "begin" }));
  else W.listeners.forEach((l) => l({ kind: "begin" }));
}

// --- the page ---

const root = /** @type {HTMLElement} */ (document.getElementById("wall"));
const word = el("p", { class: "class-word" });
const address = el("p", { class: "address soft" });
const counts = el("p", { class: "soft", role: "status" });
const who = el("p", { class: "to" });
const none = button(say("wall-choose-none"), () => {
  W.chosen.clear();
  show();
});
const paceSelect = el(
  "select",
  {
    "aria-label": say("wall-pace"),
    onChange: () => {
      if (paceSelect.value === "") return;
      order("pace", { to: to(), pace: paceSelect.value === "flat" ? null : Number(paceSelect.value) });
      paceSelect.value = "";
    },
  },
  el("option", { value: "", text: say("wall-pace") }),
  ...["1", "10", "100"].map((x) => el("option", { value: x, text: `×${x}` })),
  el("option", { value: "flat", text: say("seat-pace-flat") }),
);
const ALLOW = ["rewind", "lid", "fork", "pace"];
const allowBoxes = ALLOW.map((what) => {
  const input = el("input", {
    type: "checkbox",
    onChange: () => {
      const all = Object.fromEntries(allowBoxes.map((b) => [b.what, b.input.checked]));
      order("allow", { to: to(), ...all });
    },
  });
  return { what, input, node: el("label", { class: "choice" }, input, el("span", { text: say(`wall-allow-${what}`) })) };
});
const allowed = el("details", { class: "allow" }, el("summary", { text: say("wall-allow") }), el("div", { class: "rows" }, ...allowBoxes.map((b) => b.node)));
const compare = button(say("wall-compare"), () => {
  const two = [...W.chosen];
  if (two.length === 2) window.open(`wall#compare=${two.join(",")}`, "_blank", "noopener");
});
const keep = el(
  "details",
  { class: "allow" },
  el("summary", { text: say("wall-keep") }),
  el(
    "div",
    { class: "rows" },
    ...[
      ["wall/marks.csv", "wall-keep-csv"],
      [inUnits("wall/debriefs"), "wall-keep-debriefs"],
      ["wall/statements.json", "wall-keep-statements"],
    ].map(([href, id]) => el("a", { class: "press", href, target: "_blank", rel: "noopener", text: say(id) })),
  ),
);
const orders = el(
  "section",
  { class: "orders", "aria-label": say("wall-orders") },
  who,
  none,
  button(say("wall-start"), () => order("start", { to: to() }), "main"),
  button(say("wall-pause"), () => order("pause", { to: to() })),
  paceSelect,
  button(say("wall-assign"), () => assignSheet()),
  button(say("wall-slip"), () => slipSheet()),
  button(say("wall-note"), () => noteSheet()),
  button(say("wall-question"), () => questionSheet()),
  button(say("wall-exam"), () => examSheet()),
  button(say("wall-marks"), () => marksSheet()),
  compare,
  allowed,
  keep,
);
const bars = el("section", { class: "bars", hidden: true, "aria-live": "polite" });
const tiles = el("ul", { class: "tiles", "aria-label": say("wall-seats") });
const empty = el("div", { class: "waiting rows tiles" }, el("h2", { text: say("wall-empty") }), el("p", { class: "soft", text: say("wall-empty-says") }));

if (mode === "project") projectPage(root, lost);
else if (mode === "compare") comparePage(root, lost, which.split(",").map(Number));
else {
  root.append(
    el(
      "header",
      { class: "wall-head" },
      el("div", null, el("h1", { text: say("wall-class-word") }), word, address),
      el("div", { class: "rows" }, counts, themeChoice(), unitsChoice()),
    ),
    lost,
    said,
    orders,
    el("main", null, bars, tiles, empty),
  );
}

/** The attempt was handed in and has points. @param {Tile} t */
export function hasMark(t) {
  return t.mark !== null && t.mark !== undefined && (typeof t.mark.points === "number" || typeof t.mark.override === "number");
}

/** The marks that count, and whether the job was passed. @param {Tile} t @param {number} points */
export function markWords(t, points) {
  const passed = t.mark.closed === true ? say("wall-passed") : t.mark.closed === false ? say("wall-not-passed") : "";
  return [say("wall-points", { points: number(points, 1), of: number(t.mark.of, 0) }), passed].filter(Boolean).join(", ");
}

/** @param {Tile} t */
function stateOf(t) {
  if (t.state === "none") return ["waits", "wall-state-none"];
  if (t.state === "handed_in") return ["done", "wall-state-handed-in"];
  if (!t.present) return ["away", "wall-state-away"];
  if (t.state === "preparing") return ["waits", "wall-state-preparing"];
  if (t.paused) return ["waits", "wall-state-paused"];
  if (t.asks) return ["working", "wall-state-asked"];
  if (t.stuck_s >= STUCK_S) return ["stuck", "wall-state-stuck"];
  return ["working", "wall-state-working"];
}

const figure = (/** @type {string} */ id, /** @type {string} */ kind) => el("div", { class: kind }, el("dt", { text: say(id) }), el("dd", null));

function makeTile() {
  const name = el("button", { type: "button", class: "tile-word" });
  const tick = el("input", { type: "checkbox" });
  const state = el("p", { class: "tile-state" });
  const lesson = el("p", { class: "soft small" });
  const cause = el("p", { class: "tile-cause" });
  const lamp = el("p", { class: "lamp" });
  const copy = el("p", { class: "accent small" });
  const figures = el("dl", { class: "tile-figures" }, figure("wall-rpm", "rpm"), figure("wall-minutes", "minutes"), figure("wall-money", "money"));
  const li = /** @type {any} */ (
    el("li", { class: "tile" }, el("div", { class: "tile-head" }, name, el("label", null, tick)), state, lesson, figures, cause, lamp, copy)
  );
  li.parts = { name, tick, state, lesson, cause, lamp, copy, figures };
  name.addEventListener("click", () => lookSheet(li.tile.seat));
  tick.addEventListener("change", () => {
    if (tick.checked) W.chosen.add(li.tile.seat);
    else W.chosen.delete(li.tile.seat);
    show();
  });
  return li;
}

/** @param {any} li @param {Tile} t */
function showTile(li, t) {
  li.tile = t;
  const p = li.parts;
  const [kind, words] = stateOf(t);
  put(li, { class: `tile ${kind}` });
  setText(p.name, t.word);
  put(p.name, { "aria-label": say("wall-look-at", { seat: t.word }) });
  put(p.tick, { "aria-label": say("wall-choose", { seat: t.word }) });
  p.tick.checked = W.chosen.has(t.seat);
  const stuck = t.stuck_s >= 60 && t.state === "under_way" ? say("wall-stuck", { minutes: Math.floor(t.stuck_s / 60) }) : "";
  setText(p.state, [say(words), t.state === "under_way" ? (t.stage_text ?? "") : "", stuck].filter(Boolean).join(" · "));
  const lesson = W.lessons.find((l) => l.id === t.lesson);
  setText(p.lesson, t.lesson ? [lesson?.title ?? t.lesson, t.attempt > 1 ? say("seat-job-attempt", { n: t.attempt }) : ""].filter(Boolean).join(" · ") : say("wall-no-lesson"));
  const [rpm, minutes, money] = p.figures.children;
  // the server no longer reports the engine of a car that was handed over
  setText(rpm.lastElementChild, t.state === "handed_in" ? "–" : t.turning ? number(t.rpm, 0) : say("wall-stands"));
  setText(minutes.lastElementChild, number(t.minutes ?? 0, 0));
  setText(money.lastElementChild, number(t.money ?? 0, 0));
  const mark = hasMark(t) ? markWords(t, t.mark.override ?? t.mark.points) : "";
  const right = t.cause_right === true ? say("wall-right") : t.cause_right === false ? say("wall-wrong") : "";
  setText(p.cause, [mark, t.cause ? say("wall-cause", { cause: t.cause }) : "", t.cause ? right : ""].filter(Boolean).join(" · "));
  put(p.lamp, { class: `lamp ${t.lamp ?? "off"}` });
  setText(p.lamp, t.lamp === "on" ? say("seat-lamp-on") : t.lamp === "blink" ? say("wall-lamp-blinks") : "");
  const copies = (t.seen_copy_of ?? []).map((s) => W.tiles.get(s)?.word ?? String(s));
  setText(p.copy, copies.length ? say("wall-copy-of", { seats: copies.join(", ") }) : "");
}

const barsChanged = whenChanged();
function showBars() {
  barsChanged(W.bars, () => {
    const b = W.bars;
    bars.hidden = !b;
    if (!b) return;
    const most = Math.max(1, ...(b.bars ?? []).map((/** @type {any} */ x) => x.seats));
    const words = (/** @type {any} */ x) => ({ up: say("seat-ask-up"), down: say("seat-ask-down"), same: say("seat-ask-same") })[/** @type {"up"} */ (x.says)] ?? x.text;
    fill(
      bars,
      el("h2", { text: b.question ?? say("seat-ask-cause") }),
      el("p", {
        class: "soft",
        text: b.shown ? say("wall-answered-shown", { n: b.answered, of: b.of }) : say("wall-answered", { n: b.answered, of: b.of, left: clock(b.left_s ?? 0) }),
      }),
      ...(b.shown
        ? (b.bars ?? []).map((/** @type {any} */ x) =>
            el(
              "div",
              { class: "bar" },
              el("span", { text: words(x) }),
              svg("svg", { viewBox: "0 0 100 10", preserveAspectRatio: "none", "aria-hidden": "true" }, svg("rect", { x: 0, y: 0, width: (100 * x.seats) / most, height: 10, fill: "currentColor" })),
              el("span", { class: "figure", text: String(x.seats) }),
            ),
          )
        : []),
      el(
        "div",
        { class: "row" },
        b.shown ? null : button(say("wall-bars-show"), () => ask({ kind: "bars", ask: b.ask, seconds: 0 })),
        button(say("wall-bars-end"), () => {
          W.ended = b.ask;
          W.bars = null;
          show();
        }),
      ),
    );
  });
}

function show() {
  if (mode) return;
  setText(word, W.class.word ?? "");
  setText(address, W.class.address ?? new URL(".", location.href).href);
  const all = [...W.tiles.values()].sort((a, b) => a.word.localeCompare(b.word));
  const there = all.filter((t) => t.present).length;
  const handed = all.filter((t) => t.state === "handed_in").length;
  setText(counts, say("wall-counts", { there, all: all.length, handed }));
  setText(who, W.chosen.size ? say("wall-to-chosen", { n: W.chosen.size }) : say("wall-to-all"));
  none.hidden = W.chosen.size === 0;
  compare.disabled = W.chosen.size !== 2;
  put(compare, { title: W.chosen.size === 2 ? undefined : say("wall-compare-two") });
  const first = meant()[0];
  for (const b of allowBoxes) {
    if (document.activeElement !== b.input) b.input.checked = (first?.allowed ?? W.settings.allowed ?? {})[b.what] !== false;
  }
  empty.hidden = all.length > 0;
  keyed(tiles, all, (t) => String(t.seat), makeTile, showTile);
  showBars();
}

show();
