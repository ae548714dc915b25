// The seat: everything that a trainee does at the car, in a page. Truth never comes here while the lid is on.

import { cylinderStrip, Traces, wheelView } from "./charts.js";
import { button, el, fill, inFront, keyed, put, setText, sheet, whenChanged } from "./dom.js";
import { Engine, numbers } from "./engine.js";
import { hands as makeHands, plugs as makePlugs } from "./hands.js";
import { causeSheet, cautionsSheet, handInSheet, heldQuestions, jobCard, logbookSheet, openSheet, showWaiting } from "./job.js";
import { keyboard, showKeys } from "./keys.js";
import { Link, withTexts } from "./link.js";
import { startLook, themeChoice, unitsChoice } from "./look.js";
import { mind as makeMind } from "./mind.js";
import { routineBar } from "./now.js";
import { lines } from "./offers.js";
import { timeBar } from "./time.js";
import { inUnits, loadWords, say } from "./words.js";

startLook();
await loadWords();
document.title = say("seat-title");

/** What the page knows. */
const S = {
  seat: /** @type {any} */ (null),
  lesson: /** @type {any} */ (null),
  attempt: /** @type {any} */ (null),
  allowed: /** @type {any} */ ({}),
  view: /** @type {any} */ (null),
  live: /** @type {any} */ ({}),
  texts: /** @type {any} */ ({}),
  all: /** @type {any} */ ({}),
  rows: /** @type {number[][]} */ ([]),
  /** Number of the first row that is held. */
  rowsFrom: 0,
  log: /** @type {{ at: string, who: string, text: string, kind: string, of: string }[]} */ ([]),
  acts: /** @type {any[]} */ ([]),
  epoch: -1,
  reach: "both",
  pulled: /** @type {any[]} */ ([]),
  share: 0,
  released: false,
  heldByInstructor: false,
  ranFrom: /** @type {number | null} */ (null),
  leftAt: 0,
  lastWords: "",
  /** What was pressed last in a group, and how long the logbook was then. */
  pressed: /** @type {{ group: string, id: string, n: number, from: number, told: string, taken: boolean } | null} */ (null),
  /** Number of the last act. */
  lastAct: 0,
  /** A direct-injection rail is there; nothing while that is not known. */
  rail: /** @type {boolean | undefined} */ (undefined),
  /** The car came in with its engine running. */
  ranIn: false,
  get causes() {
    return /** @type {[string, string][]} */ (this.lesson?.causes ?? []);
  },
  get cautionsKept() {
    return this.lesson?.cautions_kept === true || this.acts.some((a) => a?.note === "cautions");
  },
  get causeNamed() {
    for (let k = this.acts.length - 1; k >= 0; k--) if (this.acts[k]?.note?.cause) return this.acts[k].note.cause;
    return null;
  },
  get gear() {
    const hands = side()?.hands;
    if (hands?.drive) return "drive";
    for (let k = this.acts.length - 1; k >= 0; k--) {
      const gear = this.acts[k]?.gear;
      if (gear && gear !== "drive") return gear;
    }
    return "neutral";
  },
  clockLeft() {
    return Math.max(0, (this.attempt?.clock_left_s ?? 0) - (Date.now() - this.leftAt) / 1000);
  },
  signals: () => signals(),
  recorded() {
    const v = this.view;
    return { from: 0, columns: v?.columns ?? [], rows: this.rows, hand_over_s: v?.hand_over_s ?? 0, time_s: v?.time_s ?? 0, marks: v?.marks ?? [] };
  },
};

/** The future that hands reach. */
function side() {
  const second = S.view?.second;
  return S.reach === "second" && second ? second[0] : S.view?.first;
}

// --- what stands in the page ---

const engine = new Engine();
const engineNumbers = numbers();
const traces = new Traces();
const wheel = wheelView(offer);
const strip = cylinderStrip();
const mind = makeMind(offer, false);
const handsPanel = makeHands(act);
const plugs = makePlugs(act);
const groups = /** @type {Record<string, ReturnType<typeof lines>>} */ ({
  tools: lines(say("seat-do-tools"), pressed),
  shelf: lines(say("seat-do-shelf"), pressed),
  work: lines(say("seat-do-work"), pressed),
  read: lines(say("seat-do-read"), pressed),
  write: lines(say("seat-do-write"), pressed),
  routines: lines(say("seat-do-routines"), pressed),
});

const job = jobCard({
  cautions: showCautions,
  cause: () => sayCause(),
  open: () => openSheet(S.view?.open ?? [], (id, says) => link.order("answer", { ask: id, says })),
  handIn: showHandIn,
  logbook: () => logbookSheet(S.log),
  keys: () => showKeys(),
  lid: moveLid,
  debrief: () => window.open(inUnits("debrief"), "_blank", "noopener"),
});
const held = heldQuestions({
  answer: (id, says) => link.order("answer", { ask: id, says }),
  pass: () => link.order("pass"),
  not: () => link.order("act", { act: "wait", reach: "both" }),
});
const time = timeBar({
  pace: (pace) => link.order("pace", { pace }),
  step: (step) => link.order("pace", { pace: 0, step }),
  on: (seconds) => {
    S.ranFrom = S.view?.time_s ?? null;
    link.order("on", { seconds });
  },
  mark: (name) => link.order("mark", { name: name || say("seat-mark-unnamed") }),
  rewind: (mark) => link.order("rewind", { mark }),
  fork: () => fork(),
  join: () => join(),
  act,
  reach: (reach) => {
    S.reach = reach;
    show();
  },
});

const line = el("p", { class: "line", role: "status" });
const says = el("div", { id: "says" });
const notes = el("div", { role: "log", "aria-label": say("seat-notes"), class: "notes" });
says.append(notes);
const now = routineBar();
const readings = el("ul", { class: "readings meas small" });
const readingsTitle = el("p", { class: "soft small", text: say("seat-readings") });
const answers = el("ul", { class: "readings small" });
const waitingBox = el("section", { id: "waiting", hidden: true });

/** @param {string} id @param {HTMLElement} inside @param {boolean} open */
function fold(id, inside, open) {
  const node = el("details", { class: "group", id: `group-${id}`, open }, el("summary", null, el("h2", { text: "" })), inside);
  return { node, title: /** @type {HTMLElement} */ (node.querySelector("h2")) };
}
const toolsBox = el("div", { class: "rows" }, groups.tools.node, readingsTitle, readings);
const folds = {
  tools: fold("tools", toolsBox, true),
  shelf: fold("shelf", groups.shelf.node, false),
  plugs: fold("plugs", plugs.node, false),
  work: fold("work", groups.work.node, false),
};
const askParts = ["read", "write", "routines"].map((id) => {
  const title = el("h3", null);
  return { id, title, node: el("div", { class: "rows" }, title, groups[id].node) };
});
const testerAt = el("p", { class: "soft small" });
testerAt.hidden = true;
const ask = el(
  "details",
  { class: "group ask", id: "group-ask" },
  el("summary", null, el("h2", { text: say("seat-ask-module") }), el("kbd", { "aria-hidden": "true", text: "M" })),
  el("div", { class: "rows" }, ...askParts.map((p) => p.node), el("h3", { text: say("seat-answered") }), answers, testerAt),
);

/** What takes the middle. */
const MIDDLES = /** @type {[string, string, HTMLElement][]} */ ([
  ["engine", "seat-middle-engine", el("div", { class: "engine-both" }, engine.node, engineNumbers.node)],
  ["traces", "seat-middle-traces", traces.node],
  ["wheel", "seat-middle-wheel", wheel.node],
  ["cylinders", "seat-middle-cylinders", strip.node],
]);
/** Numbers that the module has learned: they show once they were read. */
const LEARNED = new Set(["long_pct", "long_bank2_pct", "idle_learned_g_s", "charge_age_v", "long_trim_1_pct", "idle_air_learned_g_s"]);
/** Notices of the module that end a routine. */
const ENDS = /_done$|^routine_failed$|^group_reset$/;
/** What the scan tool's buttons are called, and what their lines need, by the start of their ids. */
const CALLED = /** @type {[string, string, string][]} */ ([
  ["reset_", "seat-do-reset", "seat-needs-key-on-stopped"],
  ["clear_codes", "seat-do-clear", "seat-needs-key-on"],
  ["enter_battery_record", "seat-do-register", "seat-needs-key-on-stopped"],
  ["copy_injector_code", "seat-do-enter", "seat-needs-key-on-stopped"],
  ["write_injector_code", "seat-do-enter", "seat-needs-key-on-stopped"],
  ["learn_closed_stop", "", "seat-needs-key-on-stopped"],
  ["learn_", "", "seat-needs-idle"],
  ["cut_out", "", "seat-needs-cut-out"],
  ["command_idle", "", "seat-needs-running"],
  ["stop", "seat-do-stop", ""],
  ["restart", "", "seat-needs-key-on-stopped"],
  ["read_", "", "seat-needs-key-on"],
]);
let middle = "engine";
const tabs = el("div", { role: "tablist", "aria-label": say("seat-middle"), class: "tabs" });
const panes = el("div", { class: "panes" });
for (const [id, words, node] of MIDDLES) {
  const tab = el("button", { type: "button", role: "tab", id: `tab-${id}`, "aria-controls": `pane-${id}`, text: say(words), onClick: () => choose(id) });
  tabs.append(tab);
  panes.append(el("div", { role: "tabpanel", id: `pane-${id}`, "aria-labelledby": `tab-${id}`, class: "pane", tabindex: "0" }, node));
}
tabs.addEventListener("keydown", (e) => {
  const step = { ArrowRight: 1, ArrowLeft: -1 }[e.key];
  if (!step) return;
  const k = MIDDLES.findIndex(([id]) => id === middle);
  choose(MIDDLES[(k + step + MIDDLES.length) % MIDDLES.length][0]);
  document.getElementById(`tab-${middle}`)?.focus();
});

/** @param {string} id */
function choose(id) {
  middle = id;
  for (const [one] of MIDDLES) {
    const on = one === id;
    const tab = document.getElementById(`tab-${one}`) ?? tabs.querySelector(`#tab-${one}`);
    if (tab) {
      put(tab, { "aria-selected": on });
      /** @type {HTMLElement} */ (tab).tabIndex = on ? 0 : -1;
    }
    const pane = /** @type {HTMLElement} */ (panes.querySelector(`#pane-${one}`));
    pane.hidden = !on;
  }
  engine.head.hidden = id !== "engine";
  look();
  show();
}

const PLACES = ["car", "work", "module"];
let place = "car";
const places = el(
  "nav",
  { id: "places", "aria-label": say("seat-places") },
  ...PLACES.map((id) => el("button", { type: "button", "data-place": id, text: say(`seat-place-${id}`), onClick: () => goTo(id) })),
);
/** @param {string} id */
function goTo(id) {
  place = id;
  document.body.dataset.place = id;
  for (const b of places.children) put(b, { "aria-current": b.getAttribute("data-place") === id ? "page" : undefined });
  document.getElementById("main")?.scrollTo(0, 0);
  look();
  show();
}

const foot = el("p", { class: "soft small foot" }, themeChoice(), " ", unitsChoice());
document.getElementById("app")?.append(
  el("a", { class: "skip press", href: "#middle", text: say("seat-skip") }),
  job.node,
  line,
  places,
  now.node,
  el(
    "main",
    { id: "main" },
    el(
      "div",
      { id: "left" },
      el("section", { id: "hands", "aria-labelledby": "hands-title" }, el("h2", { id: "hands-title" }, say("seat-hands"), " ", el("span", { class: "figure meas rpm-now" })), handsPanel.node),
      el("section", { id: "work", "aria-label": say("seat-place-work") }, ...Object.values(folds).map((f) => f.node)),
    ),
    el("section", { id: "middle", tabindex: "-1", "aria-label": say("seat-middle") }, el("div", { class: "row middle-head" }, tabs, engine.head), panes),
    el("section", { id: "mind", "aria-label": say("seat-place-module") }, ask, mind.node, foot),
    waitingBox,
  ),
  says,
  time.node,
);
// --- what is done ---

/** @param {any} action */
function act(action) {
  S.lastAct = link.order("act", { act: action, reach: S.reach });
}

/** @param {any} action @param {{ name: string }} item */
function pressed(action, item) {
  S.lastWords = item.name;
  const of = /** @type {any} */ (item).id;
  const group = Object.keys(groups).find((g) => S.lesson?.groups?.find((/** @type {any} */ x) => x.id === g)?.items.some((/** @type {any} */ i) => i.id === of));
  if (group) groups[group].answer(of, []);
  act(action);
  S.pressed = group ? { group, id: of, n: S.lastAct, from: S.log.length, told: "", taken: false } : null;
}

/** What was pressed last, unless something else was done since. */
function lastPressed() {
  return S.pressed?.n === S.lastAct ? S.pressed : null;
}

/** It was refused. @param {string} why */
function tellPressed(why) {
  const p = lastPressed();
  if (!p) return;
  p.told = why;
  answerPressed();
}

/** What came of what was pressed last stands under its button. */
function answerPressed() {
  const p = S.pressed;
  if (!p) return;
  const since = S.log.slice(p.from);
  // what the next act brought is not of this one; what a tool shows may come later
  const acts = since.flatMap((l, k) => (l.kind === "act" ? [k] : []));
  const next = acts[1] ?? since.length;
  const came = since.filter((l, k) => (k < next && ["answer", "hindered"].includes(l.kind)) || (p.group === "tools" && l.kind === "reading"));
  /** @type {import("./offers.js").Told[]} */
  const all = p.told
    ? [{ text: p.told, wrong: true }]
    : [...came.filter((l) => l.kind === "reading"), ...came.filter((l) => l.kind !== "reading")].slice(0, 4).map((l) => ({ text: l.text, wrong: l.kind === "hindered" }));
  // refused because the engine turns, though its key is off: it cannot stop before time runs
  if (p.told && S.live.pace === 0 && (side()?.seen?.live?.engine_speed_rpm ?? 0) > 0) all.push({ text: say("seat-time-fresh") });
  const waits = p.taken && !p.told && p.group === "tools" && !came.some((l) => l.kind === "reading");
  if (waits && S.live.pace === 0) all.push({ text: say("seat-answer-later") });
  else if (p.taken && all.length === 0) {
    const acted = since.find((l) => l.kind === "act");
    if (acted) all.push({ text: say("seat-done", { what: acted.text }) });
  }
  if (all.length) groups[p.group].answer(p.id, all);
}

/** The item with that act, and its price. @param {any} action */
function itemOf(action) {
  const want = JSON.stringify(action);
  for (const group of S.lesson?.groups ?? []) {
    for (const item of group.items) {
      const of = (item.fields ?? []).flatMap((/** @type {any} */ f) => f.of ?? []);
      const frame = action?.ask?.read_freeze_frame !== undefined && item.id === "read_freeze_frame";
      if (frame || JSON.stringify(item.act) === want || of.some((/** @type {any} */ [v]) => JSON.stringify(v) === want)) return item;
    }
  }
  return null;
}

/** A button for an act with its price; none where the car does not offer it. @param {any} action */
function offer(action) {
  const item = itemOf(action);
  if (!item) return null;
  const code = action?.ask?.read_freeze_frame;
  const what = code ? say("seat-frame-of", { code }) : item.name;
  const b = button(item.price ? say("seat-priced", { what, price: item.price }) : what, () => pressed(action, item));
  b.disabled = !working();
  return b;
}

function working() {
  return S.attempt?.state === "under_way" && S.view !== null;
}

function sayCause() {
  causeSheet(S.causes, S.causeNamed, (id) => link.order("answer", { ask: "cause", says: id }));
}

function fork() {
  S.reach = "second";
  link.order("fork");
}

function join() {
  S.reach = "both";
  link.order("join");
}

function moveLid() {
  if (S.view?.lid_open) {
    link.order("lid", { open: false });
    return;
  }
  const s = sheet(say("seat-lid-title"), { away: say("seat-lid-leave") });
  s.body.append(el("p", { text: say("seat-lid-why") }));
  s.buttons(
    button(
      say("seat-lid-show"),
      () => {
        link.order("lid", { open: true });
        s.close();
      },
      "main",
    ),
  );
}

function showCautions() {
  const cautions = { own: S.lesson?.cautions ?? [], always: S.lesson?.always ?? [], runs: S.ranIn };
  cautionsSheet(cautions, S.cautionsKept, () => act({ note: "cautions" }));
}

function showHandIn() {
  if (!working()) return;
  handInSheet(S, () => link.order("hand_in"), sayCause);
}

// --- what is heard ---

const link = new Link("seat/ws", "idlewright-seat", {
  message,
  refused: (_, why) => {
    tell(why, true);
    tellPressed(why);
  },
  // what was refused before is over once something else is done
  taken: (order) => {
    now.clear();
    if (S.pressed?.n === order.n) S.pressed.taken = true;
    if (order.kind === "mark") tell(say("seat-done", { what: say("seat-mark-was-set") }), false);
  },
  resume: () =>
    S.attempt && S.epoch >= 0 ? { kind: "resume", epoch: S.epoch, lines: S.log.length, rows: S.rowsFrom + S.rows.length, attempt: S.attempt.number } : null,
  line: (state, waiting, why) => {
    const words =
      state === "away"
        ? say(why === "removed" ? "seat-line-removed" : "seat-line-elsewhere")
        : state === "lost"
          ? waiting
            ? say("seat-line-lost-waiting", { n: waiting })
            : say("seat-line-lost")
          : "";
    setText(line, words);
    line.hidden = words === "";
    document.body.dataset.line = state;
  },
});

/** Where a program of the trainee's own reaches the module. @param {number | null | undefined} port */
function showTesterAddress(port) {
  testerAt.hidden = !port;
  setText(testerAt, port ? say("seat-tester-at", { address: `${location.hostname}:${port}` }) : "");
}

/** @param {any} m */
function message(m) {
  switch (m.kind) {
    case "hello": {
      const key = `${m.class} ${m.seat.id} ${m.attempt?.number ?? 0}`;
      if (S.attempt?.number !== m.attempt?.number || S.lesson?.id !== m.lesson?.id) forget();
      S.seat = m.seat;
      S.lesson = m.lesson;
      if (S.lesson && m.causes && !S.lesson.causes) S.lesson.causes = m.causes;
      setAttempt(m.attempt, m.allowed, m.held_by_instructor);
      showTesterAddress(m.tester_port);
      S.ranIn = false;
      link.welcome(key, m.attempt?.last_n ?? 0);
      if (S.lesson?.shape) engine.build(S.lesson.shape);
      look();
      break;
    }
    case "preparing":
      S.share = m.share;
      break;
    case "state":
      setAttempt(m.attempt ?? S.attempt, m.allowed ?? S.allowed, m.held_by_instructor ?? S.heldByInstructor);
      if ("tester_port" in m) showTesterAddress(m.tester_port);
      break;
    case "view":
      takeView(m);
      break;
    case "engine":
      engine.frame(m);
      S.pulled = m.first?.pulled ?? [];
      if (folds.plugs.node.open) showPlugs();
      return;
    case "told":
      tell(m.text, true);
      tellPressed(m.text);
      return;
    case "note":
      note(m.text);
      return;
    case "debrief":
      S.released = m.released === true;
      if (S.released) tell(say("seat-debrief-there"), false);
      break;
    default:
      return;
  }
  show();
}

function forget() {
  S.view = null;
  S.live = {};
  S.texts = {};
  S.all = {};
  S.rows = [];
  S.rowsFrom = 0;
  S.log = [];
  S.acts = [];
  S.epoch = -1;
  S.reach = "both";
  S.share = 0;
  S.released = false;
  S.pressed = null;
  S.rail = undefined;
  for (const group of Object.values(groups)) group.forget();
  mind.forget();
  now.forget();
  cautioned = false;
  engine.frames = [];
  engine.shape = null;
}

/** @param {any} attempt @param {any} allowed @param {any} heldBy */
function setAttempt(attempt, allowed, heldBy) {
  S.attempt = attempt;
  S.allowed = allowed ?? S.allowed;
  S.released = attempt?.released === true;
  S.heldByInstructor = heldBy === true;
  S.leftAt = Date.now();
  if (attempt?.state === "handed_in") document.getElementById("main")?.scrollTo(0, 0);
}

/** @param {any} m */
function takeView(m) {
  const v = m.view;
  const anew = v.epoch !== S.epoch;
  S.epoch = v.epoch;
  const keep = v.rows_from - S.rowsFrom;
  if (anew || keep < 0 || keep > S.rows.length) {
    S.rows = [];
    S.rowsFrom = v.rows_from;
  } else {
    S.rows.length = keep;
  }
  for (const row of v.rows) S.rows.push(row);
  const log = m.texts?.log ?? [];
  if (S.pressed && S.pressed.from > v.lines_from) S.pressed = null;
  S.log.length = Math.min(S.log.length, v.lines_from);
  S.acts.length = Math.min(S.acts.length, v.lines_from);
  v.lines.forEach((/** @type {any} */ entry, /** @type {number} */ k) => {
    const kind = Object.keys(entry.kind ?? {})[0] ?? "";
    const action = entry.kind?.act?.action ?? null;
    const text = log[k] ?? { at: "", who: "", text: "" };
    S.acts.push(action);
    // an answer says what it answers
    const asked = action?.ask !== undefined ? (nameOf(action) ?? text.text) : "";
    const of = kind === "answer" ? (S.log.findLast((l) => l.kind === "act" && l.of)?.of ?? "") : asked;
    // what was read names itself; "accepted" alone does not
    const said = entry.kind?.answer?.answer;
    const bare = of && (typeof said === "string" || said?.refused !== undefined);
    S.log.push({ ...text, kind, of, text: kind === "answer" && bare ? say("seat-answer-to", { asked: of, answer: text.text }) : text.text });
    const what = entry.kind?.module?.what;
    const notice = typeof what === "object" && what ? Object.keys(what)[0] : String(what ?? "");
    if (ENDS.test(notice)) now.ended(S.acts.length);
  });
  if (!anew) tellDone(v.lines.length);
  S.view = { ...v, rows: undefined, lines: undefined };
  S.live = m.live ?? S.live;
  const texts = withTexts(S.all, m.texts);
  S.all = texts;
  // what the tester was not told to read is not there, and is offered instead
  const read = (/** @type {string} */ part) => (v.lid_open || texts.asked?.[part] ? texts[part] : null);
  S.texts = { ...texts, codes: read("codes"), learned: read("learned"), readiness: read("readiness") };
  S.texts.tester = v.lid_open || Object.values(texts.asked ?? {}).includes(true) || S.acts.some((a) => a?.ask !== undefined);
  const live = v.first?.seen?.live ?? {};
  if (live.running) S.rail = live.rail_kpa > 0;
  answerPressed();
}

/** Says in short what was done last. @param {number} count new lines of the logbook */
function tellDone(count) {
  const lines = count > 0 ? S.log.slice(-count) : [];
  if (lines.some((l) => l.kind === "hindered")) return;
  const end = lines.findLast((l) => ["answer", "reading"].includes(l.kind)) ?? lines.findLast((l) => l.kind === "act");
  // a long answer stands where it was asked for
  const short = end && (end.of && end.text.length > 110 ? end.of : end.text);
  if (short && !now.refused()) tell(say("seat-done", { what: short }), false);
}

/** Values of the sensors that this car has; what the module has learned once it was read. @template {{ id: string }} T @param {T[]} all @returns {T[]} */
function here(all) {
  const car = S.lesson?.car ?? {};
  return all.filter(
    (v) =>
      !(car.banks === 1 && /bank2|_2_pct$|_2$/.test(v.id)) &&
      !(car.air_meter === false && v.id === "air_g_s") &&
      !(car.phaser === false && v.id.startsWith("cam_")) &&
      !(car.egr === false && v.id.startsWith("egr_")) &&
      !(S.rail === false && v.id === "rail_kpa") &&
      (S.texts.learned || !LEARNED.has(v.id)),
  );
}

/** Says which pictures are wanted; a page that nobody sees asks for none. */
function look() {
  const hidden = document.visibilityState === "hidden";
  const wide = matchMedia("(min-width: 1100px)").matches;
  const seen = (middle === "engine" && (wide || place === "car")) || folds.plugs.node.open;
  link.tell({ kind: "look", engine: !hidden && seen, hidden });
}
document.addEventListener("visibilitychange", look);
folds.plugs.node.addEventListener("toggle", () => {
  look();
  if (folds.plugs.node.open && S.view) showPlugs();
});

/** @param {string} text @param {boolean} urgent */
function tell(text, urgent) {
  now.tell(text, urgent);
}

/** @param {string} text */
function note(text) {
  const box = el("div", { class: "note" }, el("p", { class: "soft small", text: say("seat-note-from") }), el("p", { class: "strong", text }));
  box.append(button(say("seat-put-away"), () => box.remove()));
  notes.append(box);
}

let cautioned = false;

function show() {
  job.show(S);
  const view = S.view;
  const at = working();
  document.body.dataset.state = view ? "car" : "none";
  showWaiting(waitingBox, S);
  waitingBox.hidden = view !== null && S.attempt?.state !== "handed_in";
  for (const id of ["left", "middle", "mind"]) {
    const node = document.getElementById(id);
    if (node) node.hidden = view === null;
  }
  places.hidden = view === null;
  time.show(S);
  now.node.hidden = view === null;
  if (!view) {
    held([], "");
    return;
  }
  const of = side();
  handsPanel.offer(S.lesson?.hands ?? []);
  const live = of.seen.live;
  handsPanel.show({ ...of.hands, gear: S.gear, standing: live.road_km_h < 1 }, S.live.driving === true, at);
  showGroups();
  const values = here(/** @type {{ id: string, name: string, text: string }[]} */ (S.texts.values ?? []));
  const rpm = S.texts.values?.find((/** @type {any} */ x) => x.id === "engine_speed_rpm")?.text ?? "";
  for (const node of document.querySelectorAll(".rpm-now")) setText(node, rpm);
  const started = S.acts.findLast((a) => a?.ask?.start !== undefined);
  now.show(live, S.texts.routine, started ? (nameOf(started) ?? "") : "", S.acts, at);
  engine.tell(of.seen.live, values);
  engineNumbers.show(values);
  mind.show({ ...view, first: of }, S.texts, at);
  if (middle === "traces") {
    traces.offer(signals());
    traces.show(S.recorded());
  }
  if (middle === "wheel") showWheel(of);
  if (middle === "cylinders") showStrip(of);
  held(at ? view.questions : [], (lastPressed() && S.lastWords) || S.texts.waits || "");
  if (at && !cautioned && S.lesson?.groups && !inFront() && (S.lesson.cautions?.length || S.lesson.always?.length)) {
    cautioned = true;
    S.ranIn = live.engine_speed_rpm > 0 && view.time_s - view.hand_over_s < 0.1;
    if (!S.cautionsKept) showCautions();
  }
}

/** Signals with the kind of their line. */
function signals() {
  return here(S.lesson?.signals ?? []).map((/** @type {any} */ s) => ({ ...s, kind: s.kind ?? (s.believed ? "belief" : "measured") }));
}

const groupsChanged = whenChanged();
function showGroups() {
  groupsChanged([S.lesson?.id, S.attempt?.number, S.texts.codes, S.lesson?.groups?.length], () => {
    for (const group of S.lesson?.groups ?? []) {
      const id = /** @type {keyof typeof folds} */ (group.id);
      if (folds[id]) setText(folds[id].title, group.name);
      const part = askParts.find((p) => p.id === group.id);
      if (part) setText(part.title, group.name);
      groups[group.id]?.show(withCodes(group.items));
    }
  });
  if (folds.plugs.node.open) showPlugs();
  const at = working();
  for (const b of document.querySelectorAll("#work .does, #group-ask .does")) {
    /** @type {HTMLButtonElement} */ (b).disabled = !at;
  }
  const all = [...(S.texts.readings ?? [])];
  readingsTitle.hidden = all.length === 0;
  keyed(readings, all, (r) => `${r.at} ${r.text}`, (r) => el("li", { text: `${r.at}  ${r.text}` }));
  const answered = S.log.filter((l) => l.kind === "answer").slice(-4).reverse();
  keyed(answers, answered, (l) => `${l.at} ${l.text}`, (l) => el("li", { text: `${l.at}  ${l.text}` }));
}

/** A request about a code offers the codes that were read. @param {any[]} items */
function withCodes(items) {
  const codes = S.texts.codes ?? [];
  return items.map(called).map((item) => {
    const field = item.fields?.find((/** @type {any} */ f) => f.of_codes);
    if (!field || codes.length === 0) return item;
    const of = codes.map((/** @type {any} */ c) => [c.code, c.code]);
    return { ...item, fields: item.fields.map((/** @type {any} */ f) => (f.of_codes ? { key: f.key, name: say("seat-code"), of } : f)) };
  });
}

/** A line of the scan tool with what it needs and the words of its button. @param {any} item */
function called(item) {
  const ask = item.act?.ask !== undefined || item.act === "$act" || item.act?.copy_injector_code;
  const [, words, needs] = (ask && CALLED.find(([id]) => item.id.startsWith(id))) || ["", "", ""];
  return { ...item, button: words ? say(words) : item.button, mind: needs ? [say(needs), ...(item.mind ?? [])] : item.mind };
}

/** What an act is called, as it is offered. @param {any} action */
function nameOf(action) {
  return itemOf(action)?.name;
}

function showPlugs() {
  const group = S.lesson?.groups?.find((/** @type {any} */ g) => g.id === "plugs");
  plugs.show(group?.items ?? [], S.pulled, working());
}

/** @param {any} of */
function showWheel(of) {
  const seen = of.seen;
  const list = (/** @type {any} */ x) => (Array.isArray(x) && x.length === 58 ? x : null);
  const scope = (seen.readings ?? []).find((/** @type {any} */ r) => JSON.stringify(r.tool) === '{"scope":{"pin":"crank"}}');
  wheel.show({
    learned: S.texts.learned || S.view.lid_open ? list(seen.wheel_table_deg) : null,
    measured: list(scope?.edges_deg),
    truth: list(of.truth?.wheel_deg),
    read: Boolean(S.texts.learned) || S.view.lid_open,
    watched: seen.live.misfire_watched === true,
    firing: S.lesson?.car?.firing_order ?? [],
    first: S.lesson?.shape?.first_tooth_btdc_deg ?? 0,
  });
}

/** @param {any} of */
function showStrip(of) {
  const seen = of.seen;
  const trims = new Map((S.texts.learned ?? []).map((/** @type {any} */ v) => [v.id, v.text]));
  strip.show({
    counts: seen.misfires ?? [],
    trims: (seen.misfires ?? []).map((/** @type {any} */ m) => trims.get(`cylinder_trim_${m.cylinder}`) ?? null),
    real: of.truth ? (seen.misfires ?? []).map((/** @type {any} */ m) => of.truth.cylinders.find((/** @type {any} */ c) => c.cylinder === m.cylinder)?.misfires ?? null) : undefined,
    watched: seen.live.misfire_watched === true,
    share: seen.live.misfire_pct ?? 0,
    read: Boolean(S.texts.learned),
    asked: S.texts.tester,
  });
}

keyboard({
  working,
  has: () => S.view !== null,
  choose,
  pace: (pace) => link.order("pace", { pace }),
  step: (step) => link.order("pace", { pace: 0, step }),
  module: () => {
    goTo("module");
    ask.open = true;
    /** @type {HTMLElement} */ (ask.firstElementChild).focus();
  },
  cause: () => {
    if (S.causes.length) sayCause();
  },
  lid: () => {
    if (S.allowed.lid || S.view.lid_open) moveLid();
  },
  fork: () => {
    if (time.may().fork && !S.view.second) fork();
  },
  join: () => {
    if (S.view.second) join();
  },
  handIn: showHandIn,
  act,
  hands: handsPanel.byKey,
  time,
});

setInterval(() => {
  if (S.attempt?.clock_left_s !== null && S.attempt?.clock_left_s !== undefined) job.show(S);
}, 1000);
// on a wide page the rest of time's controls has room
if (matchMedia("(min-width: 1100px) and (min-height: 860px)").matches) time.more.open = true;
goTo("car");
choose("engine");
engine.start();
