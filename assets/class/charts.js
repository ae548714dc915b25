// Traces over time, the wheel view, the cylinder strip. A belief is dashed, a measurement thin, truth bold.

import { button, el, fill, keyed, put, setText, svg, table, whenChanged } from "./dom.js";
import { colours, onLook } from "./look.js";
import { clock, number, say, shown, shownUnit, signed } from "./words.js";

/**
 * @typedef {{ id: string, name: string, unit: string, kind?: "belief" | "measured" | "truth", decimals?: number, least_span?: number, none_at_zero?: boolean }} Signal
 * @typedef {{ from: number, columns: string[], rows: number[][], hand_over_s: number, time_s: number, marks: [string, number][] }} Recorded
 */

const FONT_WORDS = '"Atkinson Next", system-ui, sans-serif';
const FONT_FIGURES = '"Atkinson Mono", ui-monospace, monospace';
/** At first these are drawn, where they are recorded. */
const FIRST = ["engine_speed_rpm", "target_speed_rpm", "map_kpa"];
/** Lengths to choose from [s]; none for all. */
const STRETCHES = /** @type {(number | null)[]} */ ([10, 60, 300, 1800, null]);

/** A round step that divides a span into some pieces. @param {number} span @param {number} pieces */
function round(span, pieces) {
  const raw = span / pieces;
  const ten = 10 ** Math.floor(Math.log10(Math.max(raw, 1e-12)));
  return [1, 2, 5, 10].map((x) => x * ten).find((x) => x >= raw) ?? ten * 10;
}
/** The same for time [s]. @param {number} span @param {number} pieces */
function roundTime(span, pieces) {
  const all = [0.1, 0.2, 0.5, 1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 1800, 3600, 7200, 21600, 86400, 604800];
  return all.find((x) => x >= span / pieces) ?? 2592000;
}

/** Number of decimals that a span asks for. @param {number} span */
const decimalsOf = (span) => (span >= 40 ? 0 : span >= 4 ? 1 : span >= 0.4 ? 2 : 3);

/** First row that is not before a time. @param {number[][]} rows @param {number} t */
function from(rows, t) {
  let [a, b] = [0, rows.length];
  while (a < b) {
    const m = (a + b) >> 1;
    if (rows[m][0] < t) a = m + 1;
    else b = m;
  }
  return a;
}

/**
 * Lines drawn into a canvas: one picture.
 * @param {HTMLCanvasElement} canvas
 * @param {{ signal: Signal, column: number, rows?: number[][], second?: boolean, name?: string }[]} lines
 * @param {Recorded} of
 * @param {[number, number]} stretch
 * @param {number | null} cursor
 * @param {Record<string, string>} c
 */
export function drawLines(canvas, lines, of, stretch, cursor, c) {
  const [w, h] = [canvas.clientWidth, canvas.clientHeight];
  if (w < 20 || h < 20) return;
  const dpr = Math.min(devicePixelRatio || 1, 2);
  canvas.width = Math.round(w * dpr);
  canvas.height = Math.round(h * dpr);
  const g = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
  g.setTransform(dpr, 0, 0, dpr, 0, 0);
  g.clearRect(0, 0, w, h);
  const [t0, t1] = stretch;
  const [left, right, top, bottom] = [54, w - 10, 8, h - 24];
  let [low, high] = [Infinity, -Infinity];
  const parts = lines.map((line) => {
    const rows = line.rows ?? of.rows;
    const [a, b] = [Math.max(from(rows, t0) - 1, 0), Math.min(from(rows, t1) + 1, rows.length)];
    // lowest and highest of each piece, so that no spike is lost
    const piece = Math.max(1, Math.ceil((b - a) / Math.max(right - left, 1)));
    // pieces of line: what was not measured is a gap between two
    /** @type {[number, number][][]} */
    const pieces = [];
    let open = false;
    const value = (/** @type {number} */ i) => {
      const x = rows[i][line.column];
      // what is missing is no number, and is not made one
      return (line.signal.none_at_zero && x === 0) || !Number.isFinite(x) ? NaN : shown(x, line.signal.unit);
    };
    for (let k = a; k < b; k += piece) {
      /** @type {number[]} */
      const told = [];
      let gap = false;
      for (let i = k; i < Math.min(k + piece, b); i++) {
        if (Number.isFinite(value(i))) told.push(i);
        else gap = true;
      }
      if (gap) open = false;
      if (!told.length) continue;
      const lo = told.reduce((m, i) => (value(i) < value(m) ? i : m));
      const hi = told.reduce((m, i) => (value(i) > value(m) ? i : m));
      if (!open) pieces.push([]);
      open = true;
      for (const i of lo === hi ? [lo] : [Math.min(lo, hi), Math.max(lo, hi)]) pieces[pieces.length - 1].push([rows[i][0], value(i)]);
    }
    for (const [, y] of pieces.flat()) [low, high] = [Math.min(low, y), Math.max(high, y)];
    return pieces;
  });
  if (!Number.isFinite(low)) [low, high] = [0, 1];
  // the noise of a healthy engine does not fill a chart
  const least = Math.max(...lines.map(({ signal }) => shown(signal.least_span ?? 0, signal.unit) - shown(0, signal.unit)));
  const short = Math.max(0, least - (high - low)) / 2;
  [low, high] = [low - short, high + short];
  const air = Math.max(0.08 * (high - low), 0.02 * Math.abs(high), 0.01);
  [low, high] = [low - air, high + air];
  const x = (/** @type {number} */ t) => left + ((right - left) * (t - t0)) / (t1 - t0);
  const y = (/** @type {number} */ v) => bottom - ((bottom - top) * (v - low)) / (high - low);
  g.lineWidth = 1;
  g.font = `14px ${FONT_FIGURES}`;
  const step = round(high - low, Math.max(2, (bottom - top) / 40));
  g.textAlign = "right";
  g.textBaseline = "middle";
  for (let v = Math.ceil(low / step) * step; v <= high; v += step) {
    g.strokeStyle = c.line;
    g.beginPath();
    g.moveTo(left, Math.round(y(v)) + 0.5);
    g.lineTo(right, Math.round(y(v)) + 0.5);
    g.stroke();
    g.fillStyle = c.soft;
    g.fillText(number(v, decimalsOf(step * 10)), left - 6, y(v));
  }
  const tick = roundTime(t1 - t0, Math.max(2, (right - left) / 90));
  g.textAlign = "center";
  g.textBaseline = "alphabetic";
  const zero = of.hand_over_s;
  for (let t = zero + Math.ceil((t0 - zero) / tick) * tick; t <= t1; t += tick) {
    g.strokeStyle = c.line;
    g.beginPath();
    g.moveTo(Math.round(x(t)) + 0.5, top);
    g.lineTo(Math.round(x(t)) + 0.5, bottom);
    g.stroke();
    g.fillStyle = c.soft;
    if (x(t) > left + 16 && x(t) < right - 16) g.fillText(tick < 1 ? number(t - zero, 1) : clock(Math.round(t - zero)), x(t), h - 6);
  }
  g.save();
  g.beginPath();
  g.rect(left, 0, right - left, bottom + 2);
  g.clip();
  g.setLineDash([2, 4]);
  g.strokeStyle = c.edge;
  g.textAlign = "left";
  g.font = `13px ${FONT_WORDS}`;
  let free = -1;
  for (const [name, t] of of.marks) {
    if (t < t0 || t > t1) continue;
    g.beginPath();
    g.moveTo(x(t), top);
    g.lineTo(x(t), bottom);
    g.stroke();
    const short = name.length > 18 ? `${name.slice(0, 17)}…` : name;
    if (x(t) > free && h > 110) {
      g.fillStyle = c.soft;
      g.fillText(short, x(t) + 4, top + 11);
      free = x(t) + g.measureText(short).width + 12;
    }
  }
  /** Names at the ends of lines, to be written once all lines are drawn. @type {{ text: string, colour: string, y: number }[]} */
  const ends = [];
  lines.forEach((line, k) => {
    const kind = line.signal.kind ?? "measured";
    g.setLineDash(line.second ? [2, 4] : kind === "belief" ? [7, 5] : []);
    g.strokeStyle = { belief: c.pencil, truth: c.ink, measured: c.meas }[kind];
    g.lineWidth = { belief: 1.9, truth: 3.2, measured: 1.5 }[kind];
    g.lineJoin = "round";
    g.beginPath();
    for (const piece of parts[k]) piece.forEach(([t, v], i) => (i ? g.lineTo(x(t), y(v)) : g.moveTo(x(t), y(v))));
    g.stroke();
    const end = parts[k].at(-1)?.at(-1);
    if (end && lines.length > 1) ends.push({ text: line.name ?? line.signal.name, colour: String(g.strokeStyle), y: Math.max(y(end[1]) - 5, top + 12) });
  });
  g.setLineDash([]);
  // lines that end close together have their names one below the other
  ends.sort((a, b) => a.y - b.y);
  ends.forEach((e, k) => {
    if (k > 0) e.y = Math.max(e.y, ends[k - 1].y + 15);
  });
  let floor = bottom - 3;
  for (const e of [...ends].reverse()) {
    e.y = Math.min(e.y, floor);
    floor = e.y - 15;
  }
  g.textAlign = "right";
  for (const e of ends) {
    g.lineWidth = 4;
    g.strokeStyle = c.bg;
    g.strokeText(e.text, right - 4, e.y);
    g.fillStyle = e.colour;
    g.fillText(e.text, right - 4, e.y);
  }
  if (cursor !== null && cursor >= t0 && cursor <= t1) {
    g.strokeStyle = c.accent;
    g.lineWidth = 1.5;
    g.beginPath();
    g.moveTo(x(cursor), top);
    g.lineTo(x(cursor), bottom);
    g.stroke();
  }
  g.restore();
  return { at: (/** @type {number} */ px) => t0 + ((t1 - t0) * (px - left)) / (right - left) };
}

export class Traces {
  constructor() {
    this.pictures = el("div", { class: "pictures" });
    this.choose = el("fieldset", { class: "signals" }, el("legend", { class: "soft small", text: say("seat-traces-choose") }));
    this.list = el("div", { class: "rows" });
    this.choose.append(this.list);
    this.stretch = /** @type {number | null} */ (60);
    this.cursor = /** @type {number | null} */ (null);
    /** @type {Set<string>} */
    this.chosen = new Set(FIRST);
    /** @type {Signal[]} */
    this.signals = [];
    this.colours = colours();
    /** @type {Recorded | null} */
    this.last = null;
    const stretches = el("div", { class: "one", role: "group", "aria-label": say("seat-traces-stretch") });
    this.keys = STRETCHES.map((s) => {
      const words = s === null ? say("seat-traces-all") : s < 60 ? say("seat-traces-seconds", { n: s }) : say("seat-traces-minutes", { n: s / 60 });
      const b = button(words, () => {
        this.stretch = s;
        this.keys.forEach(([v, key]) => put(key, { "aria-pressed": v === s }));
        this.again();
      });
      put(b, { "aria-pressed": s === this.stretch });
      stretches.append(b);
      return /** @type {[number | null, HTMLButtonElement]} */ ([s, b]);
    });
    this.when = el("p", { class: "soft small" });
    this.back = button(say("seat-traces-let-go"), () => this.put(null));
    this.back.hidden = true;
    this.body = el("tbody", null);
    const beside = el(
      "div",
      { class: "beside" },
      el("div", { class: "row" }, this.when, this.back),
      el("table", null, el("caption", { class: "sight-less", text: say("seat-traces-table") }), this.body),
      el("details", null, el("summary", { text: say("seat-traces-choose") }), this.choose),
    );
    this.node = el(
      "div",
      { class: "traces" },
      el("div", { class: "row" }, stretches, el("span", { class: "soft small", text: say("seat-lines") })),
      el("div", { class: "traces-both" }, this.pictures, beside),
    );
    onLook(() => {
      this.colours = colours();
      this.again();
    });
    new ResizeObserver(() => this.again()).observe(this.pictures);
    this.changed = whenChanged();
  }

  /** Drawn once more as it stands. */
  again() {
    if (this.last) this.show(this.last);
  }

  /** @param {number | null} t */
  put(t) {
    this.cursor = t;
    this.back.hidden = t === null;
    this.again();
  }

  /** @param {Signal[]} signals */
  offer(signals) {
    this.changed(signals, () => {
      this.signals = signals;
      fill(
        this.list,
        ...signals
          .filter((s) => s.id !== "time_s")
          .map((s) => {
            const input = el("input", {
              type: "checkbox",
              checked: this.chosen.has(s.id),
              onChange: () => {
                if (input.checked) this.chosen.add(s.id);
                else this.chosen.delete(s.id);
                this.again();
              },
            });
            return el("label", null, input, s.unit ? say("seat-name-unit", { name: s.name, unit: shownUnit(s.unit) }) : s.name);
          }),
      );
    });
  }

  /** @param {Recorded} of */
  show(of) {
    this.last = of;
    if (this.node.offsetParent === null) return;
    const end = of.time_s;
    const first = of.rows[0]?.[0] ?? 0;
    const begin = Math.max(this.stretch === null ? first : end - this.stretch, first);
    const stretch = /** @type {[number, number]} */ ([Math.min(begin, end - 1), end]);
    const here = this.signals.filter((s) => this.chosen.has(s.id) && of.columns.includes(s.id));
    // what has the same unit stands in one picture
    /** @type {Signal[][]} */
    const groups = [];
    for (const s of here) {
      const group = groups.find((all) => all[0].unit === s.unit && s.unit !== "%" && s.unit !== "°");
      if (group) group.push(s);
      else groups.push([s]);
    }
    keyed(
      this.pictures,
      groups,
      (group) => group.map((s) => s.id).join(" "),
      (group) => {
        const canvas = el("canvas", { class: "trace-canvas", role: "img" });
        canvas.addEventListener("pointerdown", (e) => {
          const at = /** @type {any} */ (canvas).at?.(e.offsetX);
          if (at !== undefined) this.put(at);
        });
        const title = group.map((s) => s.name).join(", ");
        const unit = shownUnit(group[0].unit);
        return el(
          "figure",
          null,
          el("figcaption", { class: "small strong", text: unit ? say("seat-name-unit", { name: title, unit }) : title }),
          canvas,
        );
      },
      (figure, group) => {
        const canvas = figure.lastElementChild;
        const drawn = drawLines(
          canvas,
          group.map((s) => ({ signal: s, column: of.columns.indexOf(s.id) })),
          of,
          stretch,
          this.cursor,
          this.colours,
        );
        canvas.at = drawn?.at;
        put(canvas, { "aria-label": say("seat-traces-spoken", { names: group.map((s) => s.name).join(", ") }) });
      },
    );
    if (groups.length === 0) fill(this.pictures, el("p", { class: "soft", text: say("seat-traces-none") }));
    const at = this.cursor ?? end;
    setText(this.when, this.cursor === null ? say("seat-traces-now") : say("seat-traces-at", { time: clock(at - of.hand_over_s) }));
    const row = of.rows[Math.max(from(of.rows, at + 0.05) - 1, 0)];
    keyed(
      this.body,
      here,
      (s) => s.id,
      (s) => el("tr", null, el("th", { scope: "row", text: s.name }), el("td", { class: `number ${s.kind === "belief" ? "pencil" : "meas"}` })),
      (tr, s) => {
        const raw = row?.[of.columns.indexOf(s.id)];
        const x = raw === undefined || raw === null ? undefined : shown(raw, s.unit);
        const text = x === undefined ? "–" : number(x, s.decimals ?? decimalsOf(Math.abs(x) * 2));
        setText(tr.lastElementChild, s.unit ? `${text} ${shownUnit(s.unit)}` : text);
      },
    );
  }
}

// --- the wheel ---

const RING = 0.05;
const PITCH = 6;

/**
 * The wheel view, and its numbers by sectors.
 * @param {(act: any) => Node | null} offer a button for an act, with its price
 */
export function wheelView(offer) {
  const drawing = svg("svg", { viewBox: "-200 -200 400 400", role: "img", class: "wheel" });
  const beside = el("div", { class: "beside rows" });
  const node = el(
    "div",
    { class: "wheel-both" },
    el("div", null, el("p", { class: "soft small", text: say("seat-wheel-rings") }), drawing),
    beside,
  );
  const changed = whenChanged();
  /**
   * @param {{ learned: number[] | null, measured: number[] | null, truth?: number[] | null, read: boolean, watched: boolean,
   *   firing: number[], first: number }} of
   */
  const show = (of) =>
    changed(of, () => {
      const all = /** @type {[string, string, number[] | null][]} */ ([
        ["truth", "seat-wheel-true", of.truth ?? null],
        ["measured", "seat-wheel-measured", of.measured],
        ["belief", "seat-wheel-learned", of.learned],
      ]).filter(([, , list]) => list && list.length === 58);
      const most = Math.max(0.1, ...all.flatMap(([, , list]) => /** @type {number[]} */ (list).map(Math.abs)));
      const rings = Math.min(Math.ceil(most / RING - 1e-9), 8);
      const [inner, zero] = [68, 134];
      const per = 54 / (rings * RING);
      const place = (/** @type {number} */ deg, /** @type {number} */ R) => {
        const a = ((deg - 90) * Math.PI) / 180;
        return `${(R * Math.cos(a)).toFixed(1)} ${(R * Math.sin(a)).toFixed(1)}`;
      };
      fill(drawing);
      for (let k = -rings; k <= rings; k++) {
        drawing.append(svg("circle", { r: zero + k * RING * per, class: k === 0 ? "edge" : "rule" }));
      }
      for (let k = 0; k < 58; k++) {
        drawing.append(svg("path", { class: "tooth", d: `M${place(PITCH * k, inner)}L${place(PITCH * k, inner + 9)}` }));
      }
      const n = of.firing.length / 2;
      const sectors = Array.from({ length: n }, (_, j) => {
        const span = 360 / n;
        const at = (((of.first + span * j) % 360) + 360) % 360;
        const two = [of.firing[j], of.firing[j + n]].sort((a, b) => a - b);
        const tooth = (/** @type {number} */ deg) => Math.min(Math.round((((deg % 360) + 360) % 360) / PITCH), 57);
        return { at, span, name: say("seat-wheel-two", { one: two[0], other: two[1] }), ends: [tooth(at), tooth(at + span)] };
      });
      for (const s of sectors) {
        drawing.append(svg("path", { class: "edge dotted", d: `M${place(s.at, 14)}L${place(s.at, 192)}` }));
        const [x, y] = place(s.at + s.span / 2, 34).split(" ");
        drawing.append(svg("text", { x, y, "text-anchor": "middle", "dominant-baseline": "middle", class: "words ink", text: s.name }));
      }
      for (const [kind, , list] of all) {
        const far = (rings + 0.3) * RING;
        const d = /** @type {number[]} */ (list)
          .map((off, k) => `${k ? "L" : "M"}${place(PITCH * k, zero + Math.max(-far, Math.min(far, off)) * per)}`)
          .join("");
        drawing.append(svg("path", { class: kind, d }));
      }
      for (const k of [-rings, 0, rings]) {
        const [x, y] = place(-1.5 * PITCH, zero + k * RING * per).split(" ");
        drawing.append(svg("text", { x, y, "text-anchor": "middle", "dominant-baseline": "middle", text: `${signed(k * RING, k ? 2 : 0)}°` }));
      }
      const spoken = all.map(([, name, list]) => {
        const l = /** @type {number[]} */ (list);
        const k = l.reduce((best, x, i) => (Math.abs(x) > Math.abs(l[best]) ? i : best), 0);
        return say("seat-wheel-most", { who: say(name), deg: signed(l[k], 3), n: k + 1 });
      });
      put(drawing, { "aria-label": [say("seat-wheel"), ...spoken].join("; ") });
      const key = (/** @type {string} */ kind, /** @type {string} */ words) =>
        el("p", { class: "row" }, svg("svg", { viewBox: "0 0 44 12", class: "key", "aria-hidden": "true" }, svg("path", { class: kind, d: "M0 6H44" })), words);
      fill(
        beside,
        key("belief", say("seat-wheel-table")),
        of.learned ? null : el("p", { class: "soft small", text: say(of.read ? "seat-wheel-no-table" : "seat-not-read") }),
        of.read ? null : offer({ ask: "read_learned" }),
        key("measured", say("seat-wheel-scope")),
        of.measured ? null : el("p", { class: "soft small", text: say("seat-wheel-not-measured") }),
        offer({ measure: { scope: { pin: "crank" } } }),
        all.length
          ? el("div", { class: "scroll-x", tabindex: "0", role: "group", "aria-label": say("seat-wheel-sectors") }, table(
              say("seat-wheel-sectors"),
              [say("seat-wheel-sector"), ...all.map(([, name]) => say(name))],
              sectors.map((s) => [s.name, ...all.map(([, , l]) => `${signed(/** @type {number[]} */ (l)[s.ends[1]] - /** @type {number[]} */ (l)[s.ends[0]], 3)}°`)]),
              [false, true, true, true],
            ))
          : null,
        all.length ? el("p", { class: "soft small", text: say("seat-wheel-sectors-say") }) : null,
        el("p", { class: "soft small", text: say(of.watched ? "seat-misfires-watched" : "seat-misfires-not-watched") }),
        all.length
          ? el("details", null, el("summary", { text: say("seat-wheel-teeth") }), table(
              say("seat-wheel-teeth"),
              [say("seat-wheel-tooth"), ...all.map(([, name]) => say(name))],
              Array.from({ length: 58 }, (_, k) => [String(k + 1), ...all.map(([, , l]) => `${signed(/** @type {number[]} */ (l)[k], 3)}°`)]),
              [false, true, true, true],
            ))
          : null,
      );
    });
  return { node, show };
}

// --- the cylinders ---

/** What a full bar is worth, and what a part of it is. @param {number} most */
export function scale(most) {
  let part = 2;
  for (let k = 0; most > 5 * part; k++) part = k % 3 === 0 ? (part / 2) * 5 : part * 2;
  return { full: 5 * part, part };
}

/** The cylinder strip: misfires that the module counted, trims, under an open lid those that were. */
export function cylinderStrip() {
  const drawing = svg("svg", { role: "img", class: "strip" });
  const head = el("p", { class: "soft small" });
  const beside = el("div", { class: "beside rows" });
  const node = el("div", { class: "strip-both" }, el("div", null, head, drawing), beside);
  const changed = whenChanged();
  /** @param {{ counts: { cylinder: number, count: number }[], trims: (string | null)[], real?: (number | null)[], watched: boolean, share: number, read: boolean, asked?: boolean }} of */
  const show = (of) =>
    changed(of, () => {
      // counters are the module's: they show once its tester has read something
      if (of.asked === false) {
        fill(drawing);
        setText(head, say("seat-strip-not-asked"));
        fill(beside);
        return;
      }
      const n = Math.max(of.counts.length, 1);
      const { full, part } = scale(Math.max(0, ...of.counts.map((m) => m.count), ...(of.real ?? []).map((x) => x ?? 0)));
      const [wide, top, base] = [84, 30, 250];
      put(drawing, { viewBox: `0 0 ${50 + wide * n} 310` });
      fill(drawing);
      const y = (/** @type {number} */ v) => base - ((base - top) * Math.min(v, full)) / full;
      for (let v = 0; v <= full; v += part) {
        drawing.append(
          svg("path", { class: "rule", d: `M46 ${y(v)}H${50 + wide * n}` }),
          svg("text", { x: 40, y: y(v), "text-anchor": "end", "dominant-baseline": "middle", text: String(v) }),
        );
      }
      of.counts.forEach((m, k) => {
        const x = 50 + wide * (k + 0.5);
        drawing.append(svg("text", { x, y: 18, "text-anchor": "middle", class: "ink", text: String(m.cylinder) }));
        drawing.append(svg("rect", { x: x - 27, y: top, width: 54, height: base - top, class: "rule" }));
        if (m.count > 0) drawing.append(svg("rect", { x: x - 23, y: y(m.count), width: 46, height: base - y(m.count), class: "hatched" }));
        drawing.append(svg("text", { x, y: base + 20, "text-anchor": "middle", class: "pencil", text: String(m.count) }));
        const real = of.real?.[k];
        if (real !== null && real !== undefined) {
          drawing.append(svg("path", { class: "truth", d: `M${x - 27} ${y(real)}h54` }));
          drawing.append(svg("text", { x, y: base + 38, "text-anchor": "middle", class: "ink words", text: say("seat-strip-true", { n: real }) }));
        }
        const trim = of.trims[k];
        if (trim) drawing.append(svg("text", { x, y: base + 56, "text-anchor": "middle", class: "pencil", text: trim }));
      });
      const each = of.counts.map((m) => say("seat-strip-counted", { cylinder: m.cylinder, n: m.count }));
      put(drawing, { "aria-label": [say("seat-strip"), ...each].join("; ") });
      setText(head, `${say(of.watched ? "seat-misfires-watched" : "seat-misfires-not-watched")} ${say("seat-strip-share", { pct: number(of.share, 1) })}`);
      const trims = of.trims.some((t) => t);
      fill(
        beside,
        table(
          say("seat-strip"),
          [say("seat-strip-cylinder"), say("seat-strip-count"), ...(trims ? [say("seat-strip-trim")] : []), ...(of.real ? [say("seat-wheel-true")] : [])],
          of.counts.map((m, k) => [String(m.cylinder), String(m.count), ...(trims ? [of.trims[k] ?? ""] : []), ...(of.real ? [String(of.real[k] ?? "")] : [])]),
          [false, true, true, true],
        ),
        of.read ? null : el("p", { class: "soft small", text: say("seat-strip-later") }),
        el("p", { class: "soft small", text: say("seat-strip-same-teeth") }),
      );
    });
  return { node, show };
}
