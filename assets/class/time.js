// Time along the bottom: how fast it goes, steps, driving on, marks to go back to, two futures.

import { button, el, fill, oneOf, put, setText, sheet, whenChanged } from "./dom.js";
import { drawLines } from "./charts.js";
import { colours, onLook } from "./look.js";
import { lines } from "./offers.js";
import { clock, number, say } from "./words.js";

/** Paces with their keys; none is as fast as it goes. */
export const PACES = /** @type {[number | null, string, string][]} */ ([
  [0.02, "seat-pace-slow", "0"],
  [1, "×1", "1"],
  [10, "×10", "2"],
  [100, "×100", "3"],
  [null, "seat-pace-flat", "4"],
]);
/** The strip shows so much at the least [s]. */
const STRIP_S = 120;

/**
 * @param {{ pace: (pace: number | null) => void, step: (what: string) => void, on: (seconds: number) => void, mark: (name: string) => void,
 *   rewind: (mark: number) => void, fork: () => void, join: () => void, act: (act: any) => void, reach: (reach: string) => void }} does
 */
export function timeBar(does) {
  const time = el("output", { class: "time-now" });
  const run = el("button", { type: "button", class: "run main", "aria-keyshortcuts": "Space" });
  const paces = oneOf(
    say("seat-time-pace"),
    PACES.map(([pace, words, key]) => /** @type {[number | null, string, string]} */ ([pace, words.startsWith("×") ? words : say(words), key])),
    (pace) => does.pace(pace),
  );
  const reached = el("p", { class: "soft small reached" });
  const held = el("p", { class: "accent small strong", role: "status", hidden: true, text: say("seat-time-held") });
  const progress = el("progress", { max: 1, value: 0, "aria-label": say("seat-time-running-on") });
  const stop = button(say("seat-time-stop"), () => does.pace(0));
  const goes = el("div", { class: "row goes", hidden: true }, progress, stop);
  const drive = button(say("seat-time-drive"), () => driveSheet());
  put(drive, { "aria-keyshortcuts": "O" });
  const tooth = button(say("seat-time-tooth"), () => does.step("tooth"));
  const cycle = button(say("seat-time-cycle"), () => does.step("cycle"));
  const name = el("input", { type: "text", maxlength: 60, "aria-label": say("seat-mark-name"), placeholder: say("seat-mark-name"), autocomplete: "off" });
  const setMark = button(say("seat-mark-set"), () => mark());
  const marks = el("select", { "aria-label": say("seat-mark-which") });
  const back = button(say("seat-mark-back"), () => {
    if (marks.value !== "") does.rewind(Number(marks.value));
  });
  const fork = button(say("seat-fork"), does.fork);
  const join = button(say("seat-fork-join"), does.join);
  const reach = oneOf(
    say("seat-reach"),
    [
      ["both", say("seat-reach-both")],
      ["first", say("seat-reach-first")],
      ["second", say("seat-reach-second")],
    ],
    (value) => does.reach(value),
  );
  const two = el("div", { class: "row" }, el("span", { class: "soft small", text: say("seat-reach") }), reach.node, join);
  const canvas = el("canvas", { class: "strip-canvas", role: "img", "aria-label": say("seat-time-strip") });
  const markRow = el("div", { class: "row" }, name, setMark);
  const backRow = el("div", { class: "row" }, marks, back);
  const more = el(
    "details",
    { class: "time-more" },
    el("summary", { text: say("seat-time-more") }),
    el("div", { class: "rows" }, el("div", { class: "row" }, tooth, cycle), markRow, backRow, el("div", { class: "row" }, fork), two),
  );
  const node = el(
    "footer",
    { id: "time", "aria-label": say("seat-time") },
    canvas,
    el(
      "div",
      { class: "time-controls" },
      el("div", { class: "row time-first" }, run, el("p", { class: "clock" }, time, el("span", { class: "soft small", text: say("seat-time-since") })), drive, paces.node),
      goes,
      el("div", { class: "row" }, reached, held),
      more,
    ),
  );
  let c = colours();
  /** @type {() => void} */
  let redraw = () => {};
  onLook(() => {
    c = colours();
    redraw();
  });
  let may = { pace: true, rewind: true, fork: true };
  let runs = false;
  /** @type {any} */
  let state = null;
  const last = { pace: /** @type {number | null} */ (1) };
  run.addEventListener("click", () => toggle());
  const toggle = () => {
    if (!state?.view) return;
    does.pace(runs ? 0 : last.pace);
  };
  const mark = () => {
    does.mark(name.value.trim());
    name.value = "";
  };
  name.addEventListener("keydown", (e) => {
    if (e.key === "Enter") mark();
  });

  const driveSheet = () => {
    const s = sheet(say("seat-drive-title"), { away: say("seat-put-away") });
    const minutes = el("input", { id: "stand-minutes", type: "number", min: 0.1, max: 600, step: "any", value: 2 });
    const roads = state?.lesson?.groups?.find((/** @type {any} */ g) => g.id === "roads")?.items ?? [];
    const list = lines(say("seat-drive-do"), (act) => {
      s.close();
      does.act(act);
    });
    const wait = el(
      "section",
      { class: "rows choice-box" },
      el("h3", { text: say("seat-drive-stand-title") }),
      el("p", { class: "soft small", text: say("seat-drive-stand-says") }),
      el("div", { class: "row" }, el("label", { for: "stand-minutes", text: say("seat-drive-for") }), minutes, el("span", { class: "soft", text: say("seat-minutes-unit") })),
      el("div", { class: "row" }, button(say("seat-drive-stand"), () => {
        const x = minutes.valueAsNumber;
        if (!(x > 0 && x <= 600)) return minutes.focus();
        s.close();
        does.on(60 * x);
      }, "main")),
    );
    const road = el(
      "section",
      { class: "rows choice-box" },
      el("h3", { text: say("seat-drive-road-title") }),
      el("p", { class: "soft small", text: say("seat-drive-says") }),
      list.node,
    );
    s.body.append(wait, road);
    list.show(roads);
  };

  const changed = whenChanged();
  /** @param {any} s */
  const show = (s) => {
    state = s;
    const view = s.view;
    const live = s.live ?? {};
    const allowed = s.allowed ?? {};
    const working = s.attempt?.state === "under_way" && Boolean(view);
    node.hidden = !view;
    if (!view) return;
    setText(time, clock(view.time_s - view.hand_over_s));
    const ahead = live.runs_to_s !== null && live.runs_to_s !== undefined;
    runs = ahead || live.pace !== 0;
    if (live.pace !== 0 && live.pace !== undefined && !ahead) last.pace = live.pace;
    setText(run, say(runs ? "seat-time-pause" : "seat-time-run"));
    paces.show(runs && !ahead ? live.pace : /** @type {any} */ ("none"));
    may = { pace: working && allowed.pace !== false && !s.heldByInstructor, rewind: working && allowed.rewind !== false, fork: working && allowed.fork !== false };
    paces.allow(may.pace);
    for (const b of [run, tooth, cycle, drive]) b.disabled = !may.pace && !(b === drive && working && !s.heldByInstructor);
    held.hidden = !s.heldByInstructor;
    goes.hidden = !ahead;
    if (ahead) {
      const from = live.runs_from_s ?? s.ranFrom ?? view.time_s;
      progress.value = Math.max(0, Math.min(1, (view.time_s - from) / Math.max(live.runs_to_s - from, 1e-6)));
    }
    const short = typeof live.pace === "number" && live.pace > 0 && typeof live.reached === "number" && live.reached < 0.9 * live.pace;
    // an engine that is drawn turning does not stop, whatever is done, while time stands
    const turns = (view.first?.seen?.live?.engine_speed_rpm ?? 0) > 0;
    const stands = live.pace === 0 && !ahead && !live.held && working && (turns || view.time_s - view.hand_over_s < 0.1);
    const flat = live.pace === null && typeof live.reached === "number";
    setText(reached, short ? say("seat-time-reaches", { reached: number(live.reached, live.reached < 10 ? 1 : 0), wanted: live.pace }) : flat ? say("seat-time-runs-at", { reached: number(live.reached, 0) }) : stands ? say("seat-time-fresh") : "");
    markRow.hidden = !working;
    backRow.hidden = !may.rewind;
    fork.hidden = !may.fork || Boolean(view.second);
    two.hidden = !view.second || !working;
    reach.show(s.reach);
    changed([view.marks, Math.floor(view.time_s)], () => {
      const before = marks.value;
      fill(
        marks,
        el("option", { value: "", text: say("seat-mark-choose") }),
        ...[...view.marks.entries()].reverse().map(([k, [mark, at]]) =>
          el("option", { value: String(k), text: say("seat-mark-at", { time: clock(at - view.hand_over_s), mark, undone: clock(view.time_s - at) }) }),
        ),
      );
      if (view.marks[Number(before)]) marks.value = before;
    });
    redraw = () => {
      if (canvas.offsetParent === null) return;
      const signals = s.signals().filter((/** @type {any} */ x) => ["engine_speed_rpm", "target_speed_rpm"].includes(x.id));
      const of = s.recorded();
      const from = Math.max(view.time_s - Math.max(STRIP_S, view.time_s - view.hand_over_s > STRIP_S ? 300 : STRIP_S), of.rows[0]?.[0] ?? 0);
      drawLines(canvas, signals.map((/** @type {any} */ x) => ({ signal: x, column: of.columns.indexOf(x.id) })), of, [Math.min(from, view.time_s - 1), view.time_s], null, c);
    };
    redraw();
  };
  return {
    node,
    show,
    toggle,
    mark,
    drive: () => {
      if (!drive.disabled) driveSheet();
    },
    more,
    may: () => may,
    /** Chooses the last mark; when one is chosen, goes back to it. */
    back: () => {
      if (!may.rewind || !state?.view?.marks.length) return;
      more.open = true;
      if (marks.value === "") {
        marks.value = String(state.view.marks.length - 1);
        back.focus();
      } else does.rewind(Number(marks.value));
    },
  };
}
