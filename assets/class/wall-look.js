// A seat looked at with truth, a seat on the projector without its name, two seats side by side.

import { drawLines } from "./charts.js";
import { button, el, fill, keyed, put, setText, sheet, whenChanged } from "./dom.js";
import { Engine, numbers } from "./engine.js";
import { withTexts } from "./link.js";
import { colours, onLook } from "./look.js";
import { mind as makeMind } from "./mind.js";
import { ask, order, W } from "./wall.js";
import { inUnits, number, quantity, say } from "./words.js";

/** What is shown of one seat: engine, engine speed over time, what the module believes, the logbook. */
function seen() {
  const engine = new Engine();
  const values = numbers();
  const mind = makeMind(() => null);
  const canvas = el("canvas", { class: "strip-canvas", role: "img", "aria-label": say("seat-time-strip") });
  const log = el("ol", { class: "log" });
  const truth = el("table", { class: "truth-table" });
  const truthBox = el("section", { class: "part" }, el("h3", { text: say("wall-truth") }), truth);
  const node = el(
    "div",
    { class: "look-both" },
    el("div", { class: "rows" }, engine.head, engine.node, values.node, canvas),
    el("div", { class: "rows" }, truthBox, mind.node, el("section", { class: "part" }, el("h3", { text: say("seat-job-logbook") }), log)),
  );
  let c = colours();
  onLook(() => (c = colours()));
  /** @type {number[][]} */
  let rows = [];
  let rowsFrom = 0;
  let epoch = -1;
  /** @type {any[]} */
  let lines = [];
  let texts = /** @type {any} */ ({});
  const truthChanged = whenChanged();
  // drawn once it is known how this engine is built
  const drawing = [engine.head, engine.node];
  drawing.forEach((n) => (n.hidden = true));
  const build = (/** @type {any} */ shape) => {
    engine.build(shape);
    drawing.forEach((n) => (n.hidden = false));
  };
  engine.start();
  const forget = () => {
    [rows, rowsFrom, epoch, lines, texts] = [[], 0, -1, [], {}];
  };
  /** @param {any} m */
  const take = (m) => {
    const v = m.view;
    const keep = v.rows_from - rowsFrom;
    if (v.epoch !== epoch || keep < 0 || keep > rows.length) {
      rows = [];
      rowsFrom = v.rows_from;
    } else rows.length = keep;
    epoch = v.epoch;
    rows.push(...v.rows);
    lines.length = Math.min(lines.length, v.lines_from);
    lines.push(...(m.texts?.log ?? []));
    texts = withTexts(texts, m.texts);
    const read = (/** @type {string} */ part) => (v.first.truth || v.lid_open || texts.asked?.[part] ? texts[part] : null);
    mind.show(v, { ...texts, codes: read("codes"), learned: read("learned"), readiness: read("readiness") }, false);
    engine.tell(v.first.seen.live, texts.values ?? []);
    values.show(texts.values ?? []);
    const of = { from: 0, columns: v.columns, rows, hand_over_s: v.hand_over_s, time_s: v.time_s, marks: v.marks };
    const signal = (/** @type {string} */ id, /** @type {"belief" | "measured"} */ kind) => ({ signal: { id, name: say(`signal-${id.replaceAll("_", "-")}`), unit: "rpm", kind }, column: v.columns.indexOf(id) });
    const two = [signal("engine_speed_rpm", "measured"), signal("target_speed_rpm", "belief")].filter((x) => x.column >= 0);
    drawLines(canvas, two, of, [Math.min(Math.max(v.time_s - 300, rows[0]?.[0] ?? 0), v.time_s - 1), v.time_s], null, c);
    const last = lines.slice(-12).reverse();
    keyed(log, last, (l) => `${l.at} ${l.text}`, (l) => el("li", null, el("span", { class: "figure soft", text: l.at }), el("span", { text: l.text })));
    const t = v.first.truth;
    truthBox.hidden = !t;
    truthChanged(t && [Math.round(t.deposit_um), t.parts, t.codes, v.grade], () => {
      if (!t) return;
      fill(
        truth,
        el(
          "tbody",
          null,
          ...[
            [say("wall-truth-idle"), quantity(t.idle_air_needed_g_s, "g/s", 2)],
            [say("wall-truth-deposit"), `${number(t.deposit_um, 1)} µm`],
            [say("wall-truth-leak"), `${number(t.unmetered_leak_mm2, 1)} mm²`],
            [say("wall-truth-wheel"), `${number(t.wheel_off_deg, 3)}°`],
            [say("wall-truth-battery"), `${number(t.battery?.charge_pct ?? 0, 0)} %`],
            ...(v.grade ? [[say("wall-truth-now"), say("wall-points", { points: number(v.grade.points, 1), of: number(v.grade.of, 0) })]] : []),
          ].map(([k, x]) => el("tr", null, el("th", { scope: "row", text: k }), el("td", { class: "number", text: x }))),
        ),
      );
    });
  };
  return { node, engine, build, take, forget };
}

/** A seat with truth, while its trainee has none. @param {number} seat */
export function lookSheet(seat) {
  const tile = W.tiles.get(seat);
  if (!tile) return;
  const what = seen();
  const wanted = () => ask({ kind: "look", seat, engine: true });
  const listen = (/** @type {any} */ m) => {
    if (m.kind === "begin") {
      what.forget();
      wanted();
    }
    if (m.seat !== seat) return;
    if (m.kind === "seat_hello") what.build(m.lesson.shape);
    if (m.kind === "look") {
      if (m.lesson?.shape) what.build(m.lesson.shape);
      setText(wait, "");
      what.take(m);
    }
    if (m.kind === "engine") what.engine.frame(m);
  };
  const s = sheet(say("wall-look-title", { seat: tile.word }), {
    away: say("seat-put-away"),
    closed: () => {
      W.listeners = W.listeners.filter((l) => l !== listen);
      what.engine.stop();
      ask({ kind: "look", seat: null });
    },
  });
  s.node.classList.add("seat-look");
  const wait = el("p", { class: "soft", role: "status", text: say(tile.state === "under_way" ? "wall-wait" : "wall-nothing-to-see") });
  s.body.append(wait, what.node);
  W.listeners.push(listen);
  wanted();
  s.buttons(
    button(say("wall-project"), () => window.open(`wall#project=${seat}`, "_blank", "noopener")),
    tile.state === "handed_in" ? el("a", { class: "press", href: inUnits(`wall/debrief/${seat}-${tile.attempt}`), target: "_blank", rel: "noopener", text: say("wall-debrief") }) : button(say("wall-admit"), () => order("admit", { seat }, (done) => setText(wait, say("wall-code", { text: done.text ?? "", code: done.code ?? "" })))),
    el("a", { class: "press", href: `wall/logbooks/${seat}-${tile.attempt}.jsonl`, target: "_blank", rel: "noopener", text: say("wall-logbook") }),
    button(say("wall-delete"), () => deleteSheet(seat, tile.word, s.close), "mind"),
  );
}

/** Is this seat to be deleted? @param {number} seat @param {string} word @param {() => void} gone */
function deleteSheet(seat, word, gone) {
  const s = sheet(say("wall-delete-title", { seat: word }), { away: say("wall-delete-not") });
  s.body.append(el("p", { text: say("wall-delete-says") }));
  s.buttons(
    button(
      say("wall-delete-do"),
      () => {
        order("delete", { seat });
        s.close();
        gone();
      },
      "mind",
    ),
  );
}

/** A seat on the projector: a trainee's sight, and no name. @param {HTMLElement} root @param {HTMLElement} lost */
export function projectPage(root, lost) {
  const what = seen();
  const title = el("h1", { text: say("wall-project-title") });
  root.className = "projector";
  root.append(lost, title, what.node);
  W.listeners.push((m) => {
    if (m.kind === "begin") what.forget();
    if (m.lesson?.shape) {
      what.build(m.lesson.shape);
      setText(title, m.lesson.title ?? say("wall-project-title"));
    }
    if (m.kind === "engine") what.engine.frame(m);
    if (m.kind === "project") what.take(m);
  });
}

/** Two seats on the same traces. @param {HTMLElement} root @param {HTMLElement} lost @param {number[]} seats */
export function comparePage(root, lost, seats) {
  const OFFERED = ["engine_speed_rpm", "map_kpa", "air_g_s", "throttle_deg", "lambda_1", "short_trim_1_pct", "long_trim_1_pct", "coolant_c", "supply_v", "battery_charge_pct"];
  const chosen = new Set(["engine_speed_rpm", "air_g_s"]);
  const words = el("p", null);
  const pictures = el("div", { class: "rows" });
  root.className = "compare";
  const boxes = el(
    "div",
    { class: "row" },
    ...OFFERED.map((id) => {
      const input = el("input", {
        type: "checkbox",
        checked: chosen.has(id),
        onChange: () => {
          if (input.checked) chosen.add(id);
          else chosen.delete(id);
          begin();
        },
      });
      return el("label", null, input, say(`signal-${id.replaceAll("_", "-")}`));
    }),
  );
  root.append(lost, el("h1", { text: say("wall-compare-title") }), words, boxes, pictures);
  /** @type {number[][][]} */
  let rows = [[], []];
  let from = [0, 0];
  let c = colours();
  onLook(() => (c = colours()));
  const begin = () => {
    [rows, from] = [[[], []], [0, 0]];
    ask({ kind: "compare", seats, columns: [...chosen] });
  };
  const key = (/** @type {string} */ name, /** @type {boolean} */ second) => {
    const canvas = el("canvas", { width: 60, height: 12, "aria-hidden": "true" });
    const g = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
    g.strokeStyle = c.meas;
    g.lineWidth = 2.5;
    g.setLineDash(second ? [2, 4] : []);
    g.beginPath();
    g.moveTo(0, 6);
    g.lineTo(60, 6);
    g.stroke();
    return el("span", { class: "key-line" }, canvas, name);
  };
  W.listeners.push((m) => {
    if (m.kind === "begin") begin();
    if (m.kind !== "compare") return;
    const names = m.words ?? seats.map((s) => W.tiles.get(s)?.word ?? String(s));
    fill(words, key(names[0], false), key(names[1], true));
    m.rows.forEach((/** @type {number[][]} */ own, /** @type {number} */ k) => {
      const keep = (m.from?.[k] ?? 0) - from[k];
      if (keep < 0 || keep > rows[k].length) [rows[k], from[k]] = [[], m.from?.[k] ?? 0];
      else rows[k].length = keep;
      rows[k].push(...own);
    });
    const columns = m.columns[0] === "time_s" ? m.columns : ["time_s", ...m.columns];
    const end = Math.max(rows[0].at(-1)?.[0] ?? 1, rows[1].at(-1)?.[0] ?? 1);
    const start = Math.min(rows[0][0]?.[0] ?? 0, rows[1][0]?.[0] ?? 0);
    const wanted = columns.slice(1);
    keyed(
      pictures,
      wanted,
      (id) => id,
      (id) => el("figure", null, el("figcaption", { class: "strong", text: say(`signal-${id.replaceAll("_", "-")}`) }), el("canvas", { class: "trace-canvas", role: "img" })),
      (figure, id) => {
        const canvas = figure.lastElementChild;
        put(canvas, { "aria-label": say("wall-compare-spoken", { signal: id, one: names[0], other: names[1] }) });
        const unit = W.signals.find((/** @type {any} */ s) => s.id === id)?.unit ?? "";
        const signal = { id, name: "", unit, kind: /** @type {"measured"} */ ("measured") };
        const column = columns.indexOf(id);
        const of = { from: 0, columns, rows: rows[0], hand_over_s: m.hand_over_s ?? 0, time_s: end, marks: [] };
        drawLines(canvas, [{ signal, column, name: names[0] }, { signal, column, rows: rows[1], second: true, name: names[1] }], of, [Math.min(start, end - 1), end], null, c);
      },
    );
  });
}
