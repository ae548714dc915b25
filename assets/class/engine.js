// The engine in section, at its real angles: one cylinder large, all of them in a row, the wheel on the crank.
//
// Angles come some twenty times a second and are drawn in between. An engine that turns too fast for the eye is shown as
// under a stroboscope: each picture is at an angle that the crank really passes, in slow succession.

import { button, el, fill, oneOf, put, setText } from "./dom.js";
import { colours, isStill, onLook } from "./look.js";
import { cycle, drawSection, drop, lifts, rad, stroke } from "./section.js";
import { say } from "./words.js";

/** Faster than this it is shown as under a stroboscope [turns a second]. */
const EYE = 1.2;
/** How fast it then seems to turn [turns a second]. */
const SEEMS = 0.45;
/** Frames are drawn so late that the next one is there [ms]. */
const LATE_MS = 90;
/** A spark's light, a little longer than it burns, to be seen [deg]. */
const SPARK_DEG = 12;
const TEETH = 58;
/** Shortest time between two drawings: an old tablet has other work as well; and where nothing is to move [ms]. */
const DRAW_MS = 30;
const STILL_MS = 500;

/**
 * @typedef {import("./section.js").Shape} Shape
 *
 * @typedef {object} CylinderNow
 * @property {number} cylinder
 * @property {boolean} [sparks]
 * @property {boolean} [injects]
 * @property {number | null} [spark_btdc]
 * @property {number} [inject_for_deg]
 *
 * @typedef {object} EngineNow
 * @property {number} crank_deg
 * @property {boolean} turning
 * @property {CylinderNow[]} cylinders
 * @property {number} plate_deg
 * @property {any[]} pulled
 * @property {number[]} glow
 *
 * @typedef {{ cylinder: number, t_k: number, p_kpa: number, burned: number, products: number, burns: boolean }} Gas
 */

export class Engine {
  constructor() {
    this.canvas = el("canvas", { role: "img", class: "engine-canvas" });
    this.choice = el("div", { class: "row" });
    this.said = el("p", { class: "soft small strobe" });
    this.head = el("div", { class: "row engine-head" }, this.choice);
    this.node = el("div", { class: "engine" }, this.canvas, this.said);
    /** @type {Shape | null} */
    this.shape = null;
    /** @type {{ at: number, turns: number, first: EngineNow }[]} */
    this.frames = [];
    /** @type {Gas[] | null} */
    this.gas = null;
    /** @type {Map<string, { name: string, text: string }>} */
    this.values = new Map();
    this.live = /** @type {any} */ ({});
    this.large = 1;
    this.shown = 0;
    this.last = 0;
    this.strobe = false;
    this.colours = colours();
    this.dirty = true;
    this.drawing = 0;
    onLook(() => {
      this.colours = colours();
      this.dirty = true;
    });
    new ResizeObserver(() => (this.dirty = true)).observe(this.canvas);
  }

  /** @param {Shape} shape */
  build(shape) {
    if (JSON.stringify(shape) === JSON.stringify(this.shape)) return;
    this.shape = shape;
    this.frames = [];
    this.large = Math.min(this.large, shape.offsets_deg.length);
    const numbers = oneOf(
      say("seat-engine-cylinder"),
      shape.offsets_deg.map((_, k) => /** @type {[number, string]} */ ([k + 1, String(k + 1)])),
      (k) => {
        this.large = k;
        this.dirty = true;
        numbers.show(k);
      },
    );
    numbers.show(this.large);
    fill(this.choice, el("span", { class: "soft small", "aria-hidden": "true", text: say("seat-engine-cylinder") }), numbers.node);
    this.dirty = true;
  }

  /** @param {{ turns: number, first: EngineNow, gas?: Gas[] | null }} frame */
  frame(frame) {
    const at = performance.now();
    const before = this.frames.at(-1);
    // another lesson, or gone back to a mark: nothing lies between the two
    if (before && (frame.turns < before.turns - 1e-6 || at - before.at > 2000)) this.frames = [];
    this.frames.push({ at, turns: frame.turns, first: frame.first });
    if (this.frames.length > 4) this.frames.shift();
    this.gas = frame.gas ?? null;
    this.dirty = true;
  }

  /** @param {any} live live values of the module @param {{ id: string, name: string, text: string }[]} values in words */
  tell(live, values) {
    this.live = live;
    this.values = new Map(values.map((v) => [v.id, v]));
    const rpm = this.values.get("engine_speed_rpm")?.text ?? "";
    put(this.canvas, { "aria-label": say("seat-engine-spoken", { cylinder: this.large, speed: rpm }) });
    this.dirty = true;
  }

  start() {
    if (this.drawing) return;
    const step = (/** @type {number} */ now) => {
      this.drawing = requestAnimationFrame(step);
      // a canvas that is not shown is not drawn
      if (this.canvas.offsetParent === null) return;
      this.draw(now);
    };
    this.drawing = requestAnimationFrame(step);
  }

  stop() {
    cancelAnimationFrame(this.drawing);
    this.drawing = 0;
  }

  /** Turns at a moment, between the frames around it, and how fast it turns. @param {number} now */
  turnsAt(now) {
    const f = this.frames;
    const end = f.at(-1);
    if (!end) return { turns: 0, rate: 0 };
    const before = f.at(-2);
    const rate = before ? (1000 * (end.turns - before.turns)) / Math.max(end.at - before.at, 1) : 0;
    const at = now - LATE_MS;
    for (let k = f.length - 1; k > 0; k--) {
      const [a, b] = [f[k - 1], f[k]];
      if (at >= a.at && at <= b.at) {
        return { turns: a.turns + ((b.turns - a.turns) * (at - a.at)) / Math.max(b.at - a.at, 1), rate };
      }
    }
    if (at > end.at) {
      // a frame that is late does not stop the crank at once
      const ahead = Math.min(at - end.at, 120);
      return at - end.at > 400 ? { turns: end.turns, rate: 0 } : { turns: end.turns + (rate * ahead) / 1000, rate };
    }
    return { turns: f[0].turns, rate };
  }

  /** @param {number} now */
  draw(now) {
    const s = this.shape;
    const end = this.frames.at(-1);
    const dt = Math.min((now - this.last) / 1000, 0.1);
    if (!s) return;
    const { turns, rate } = this.turnsAt(now);
    const fast = rate > EYE;
    if (now - this.last < (isStill() && rate > 0 ? STILL_MS : DRAW_MS)) return;
    this.last = now;
    const shown = isStill() && end ? end.turns : fast ? this.shown + SEEMS * dt : turns;
    if (!this.dirty && Math.abs(shown - this.shown) < 1e-5) return;
    this.shown = fast ? shown % 2 : shown;
    this.dirty = false;
    if (fast !== this.strobe) {
      this.strobe = fast;
      setText(this.said, fast && !isStill() ? say("seat-engine-strobe") : "");
    }
    const first = end?.first;
    const offset = first && end ? first.crank_deg - 360 * end.turns : 0;
    const crank = fast ? cycle(360 * shown) : cycle(360 * shown + offset);
    this.paint(s, crank, first ?? null);
  }

  /** @param {Shape} s @param {number} crank @param {EngineNow | null} first */
  paint(s, crank, first) {
    const canvas = this.canvas;
    const [w, h] = [canvas.clientWidth, canvas.clientHeight];
    if (w < 10 || h < 10) return;
    const dpr = Math.min(devicePixelRatio || 1, 2);
    if (canvas.width !== Math.round(w * dpr) || canvas.height !== Math.round(h * dpr)) {
      canvas.width = Math.round(w * dpr);
      canvas.height = Math.round(h * dpr);
    }
    const g = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
    g.setTransform(dpr, 0, 0, dpr, 0, 0);
    g.clearRect(0, 0, w, h);
    g.lineJoin = "round";
    g.lineCap = "round";
    const side = w > 1.25 * h;
    const [lw, lh] = side ? [Math.min(0.58 * w, 1.4 * h), h] : [w, Math.max(h * 0.66, h - 190)];
    this.section(g, s, crank, first, 0, 0, lw, lh);
    if (side) this.line(g, s, crank, first, lw + 8, 0, w - lw - 8, h);
    else this.line(g, s, crank, first, 0, lh, w, h - lh);
  }

  /** @param {CylinderNow | undefined} now @param {number} deg @param {Shape} s */
  works(now, deg, s) {
    const runs = this.live.running === true;
    const btdc = now?.spark_btdc !== undefined ? now.spark_btdc : runs ? (this.live.spark_deg ?? null) : null;
    const since = (/** @type {number} */ from) => cycle(deg - from);
    const sparks = btdc !== null && btdc !== undefined && since(-btdc) < SPARK_DEG;
    const forDeg = now?.inject_for_deg ?? 0;
    const injects = forDeg > 0 ? since(s.inject_deg) < Math.max(forDeg, 15) : now?.injects === true && !this.strobe;
    return { sparks, injects };
  }

  /** Colour of a cylinder's gas: by its stroke, under an open lid by what it is. @param {number} k @param {string} stroke */
  gasColour(k, stroke) {
    const c = this.colours;
    const gas = this.gas?.find((x) => x.cylinder === k);
    if (gas) return gas.burns || gas.t_k > 1300 ? c.hot : gas.products > 0.5 ? c.gas : c.air;
    return { power: c.hot, exhaust: c.gas, intake: c.air, compression: c.air }[stroke] ?? c.air;
  }

  /**
   * One cylinder large, with its words.
   * @param {CanvasRenderingContext2D} g @param {Shape} s @param {number} crank @param {EngineNow | null} first
   * @param {number} x0 @param {number} y0 @param {number} w @param {number} h
   */
  section(g, s, crank, first, x0, y0, w, h) {
    const c = this.colours;
    const k = this.large;
    const deg = cycle(crank - (s.offsets_deg[k - 1] ?? 0));
    const kind = stroke(deg);
    const { B, deck, cx, cy, scale } = drawSection(g, s, c, { x: x0, y: y0, w, h }, {
      deg,
      gas: this.gasColour(k, kind),
      dense: kind === "compression" && !this.gas ? Math.min(1, Math.max(0, (deg - 540) / 180)) : 0,
      plate: first?.plate_deg ?? s.throttle_closed_deg,
      glow: first?.glow?.[(s.banks[k - 1] ?? 1) - 1] ?? 0,
      ...this.works(first?.cylinders.find((x) => x.cylinder === k), deg, s),
    });

    // words on leader lines
    const to = (/** @type {number} */ x, /** @type {number} */ y) => /** @type {[number, number]} */ ([cx + scale * x, cy - scale * y]);
    const small = w < 420;
    // lines of labels below each other end further and further in, so that none crosses another's words
    let inner = 0;
    const label = (/** @type {string} */ id, /** @type {[number, number]} */ end, /** @type {number} */ y, /** @type {"left" | "right"} */ align) => {
      const v = this.values.get(id);
      if (!v) return;
      const x = align === "left" ? x0 + 6 : x0 + w - 6;
      inner = this.label(g, v.name, v.text, end, x, y, align, small, inner);
    };
    const low = y0 + h;
    const each = small ? 44 : 54;
    const above = cy - scale * deck + (small ? 24 : 34);
    label("air_g_s", to(-2.1 * B, deck + 0.6 * B), above, "left");
    label("throttle_deg", to(-1.75 * B, deck + 0.6 * B), above + each, "left");
    label("map_kpa", to(-1.2 * B, deck + 0.62 * B), above + 2 * each, "left");
    inner = 0;
    label("engine_speed_rpm", to(-0.3 * B, -0.1 * B), low - (small ? 28 : 34), "left");
    inner = 0;
    label("spark_deg", to(0.06 * B, deck + 0.85 * B), y0 + (small ? 18 : 22), "right");
    inner = 0;
    const below = Math.min(cy - scale * (deck - 1.25 * B) + 26, low - 3 * each);
    label("lambda", to(1.5 * B, deck - 0.3 * B), below, "right");
    label("coolant_c", to(0.75 * B, deck - 1.1 * B), below + each, "right");
    const rr = x0 + w - 6;
    g.textAlign = "right";
    g.font = `700 ${small ? 15 : 17}px ${FONT_WORDS}`;
    g.fillStyle = c.ink;
    g.fillText(say("seat-engine-stroke", { cylinder: k, stroke: say(`seat-stroke-${kind}`) }), rr, low - 12);
  }

  /**
   * @param {CanvasRenderingContext2D} g @param {string} name @param {string} text @param {[number, number]} end
   * @param {number} x @param {number} y @param {"left" | "right"} align @param {boolean} small
   * @param {number} inner how far in the line of the label above ends
   */
  label(g, name, text, end, x, y, align, small, inner) {
    const c = this.colours;
    g.textAlign = align;
    g.font = `${small ? 16 : 19}px ${FONT_FIGURES}`;
    const figure = g.measureText(text).width;
    g.font = `${small ? 13 : 14}px ${FONT_WORDS}`;
    const wide = Math.max(g.measureText(name).width, figure, inner) + 8;
    const from = align === "left" ? x + wide : x - wide;
    g.strokeStyle = c.edge;
    g.lineWidth = 1;
    g.beginPath();
    g.moveTo(x, y + 4);
    g.lineTo(from, y + 4);
    g.lineTo(end[0], end[1]);
    g.stroke();
    g.beginPath();
    g.arc(end[0], end[1], 2.5, 0, 7);
    g.fillStyle = c.edge;
    g.fill();
    g.fillStyle = c.soft;
    g.fillText(name, x, y);
    g.fillStyle = c.meas;
    g.font = `${small ? 16 : 19}px ${FONT_FIGURES}`;
    g.fillText(text, x, y + (small ? 20 : 23));
    return wide;
  }

  /**
   * All cylinders in a row, and the wheel.
   * @param {CanvasRenderingContext2D} g @param {Shape} s @param {number} crank @param {EngineNow | null} first
   * @param {number} x0 @param {number} y0 @param {number} w @param {number} h
   */
  line(g, s, crank, first, x0, y0, w, h) {
    const c = this.colours;
    const n = s.offsets_deg.length;
    const stacked = h > 1.1 * w;
    const wheel = stacked ? Math.min(w * 0.62, h * 0.34) : Math.min(h, w * 0.26);
    const [rw, rh] = stacked ? [w, h - wheel] : [w - wheel, h];
    const [B, r, L] = [s.bore_mm, s.stroke_mm / 2, s.rod_mm];
    const crown = 0.42 * B;
    const deck = L + r + crown;
    const tall = deck + 0.5 * B + r + 0.25 * B;
    const scale = Math.min((rw - 12) / (n * 1.3 * B), (rh - 44) / tall);
    const [wide, total] = [1.3 * B * scale, 1.3 * B * scale * n];
    for (let k = 1; k <= n; k++) {
      const deg = cycle(crank - s.offsets_deg[k - 1]);
      const kind = stroke(deg);
      const lift = lifts(s, deg);
      const { sparks, injects } = this.works(first?.cylinders.find((x) => x.cylinder === k), deg, s);
      const cx = x0 + (rw - total) / 2 + wide * (k - 0.5);
      const cy = y0 + 24 + (rh - 44 - scale * tall) / 2 + scale * (deck + 0.5 * B);
      const pin = L + r - drop(s, deg);
      g.save();
      g.translate(cx, cy);
      g.scale(scale, -scale);
      const px = 1 / scale;
      const line = (/** @type {number} */ width, /** @type {string} */ colour = c.ink) => {
        g.lineWidth = width * px;
        g.strokeStyle = colour;
        g.stroke();
      };
      g.fillStyle = this.gasColour(k, kind);
      g.fillRect(-0.5 * B, pin + crown, B, deck - pin - crown + 0.06 * B);
      // crank
      g.beginPath();
      g.arc(0, 0, r + 0.18 * B, 0, 7);
      line(1, c.line);
      g.beginPath();
      g.moveTo(0, pin);
      g.lineTo(r * Math.sin(rad(deg)), r * Math.cos(rad(deg)));
      line(4, c.edge);
      g.beginPath();
      g.moveTo(0, 0);
      g.lineTo(r * Math.sin(rad(deg)), r * Math.cos(rad(deg)));
      line(5);
      g.beginPath();
      g.arc(0, 0, 0.1 * B, 0, 7);
      g.fillStyle = c.ink;
      g.fill();
      g.fillStyle = c.metal;
      g.beginPath();
      g.rect(-0.49 * B, pin - 0.25 * B, 0.98 * B, crown + 0.25 * B);
      g.fill();
      line(1.6);
      g.beginPath();
      g.moveTo(-0.5 * B, deck - 1.75 * B);
      g.lineTo(-0.5 * B, deck + 0.06 * B);
      g.lineTo(0.5 * B, deck + 0.06 * B);
      g.lineTo(0.5 * B, deck - 1.75 * B);
      line(k === this.large ? 3 : 1.8);
      for (const [sign, share] of /** @type {[number, number][]} */ ([[-1, lift.inlet], [1, lift.exhaust]])) {
        const y = deck + 0.04 * B - 0.14 * B * share;
        g.beginPath();
        g.moveTo((sign * 0.26 - 0.17) * B, y);
        g.lineTo((sign * 0.26 + 0.17) * B, y);
        g.moveTo(sign * 0.26 * B, y);
        g.lineTo(sign * 0.26 * B, y + 0.42 * B);
        line(share > 0 ? 3 : 1.8);
      }
      if (injects) {
        g.beginPath();
        g.arc(-0.62 * B, deck + 0.28 * B, 0.1 * B, 0, 7);
        g.fillStyle = c.fuel;
        g.fill();
      }
      if (sparks) {
        g.beginPath();
        g.arc(0, deck - 0.04 * B, 0.11 * B, 0, 7);
        g.fillStyle = c.accent;
        g.fill();
      }
      g.restore();
      g.textAlign = "center";
      g.fillStyle = c.ink;
      g.font = `700 16px ${FONT_FIGURES}`;
      g.fillText(String(k), cx, y0 + 18);
      const room = wide > 84;
      g.fillStyle = c.soft;
      g.font = `${room ? 13 : 12}px ${FONT_WORDS}`;
      if (wide > 44) g.fillText(room ? say(`seat-stroke-${kind}`) : say(`seat-stroke-short-${kind}`), cx, Math.min(cy + scale * (r + 0.2 * B) + 16, y0 + rh - 4));
    }
    const [mx, my] = stacked ? [x0 + w / 2, y0 + rh + wheel / 2 - 6] : [x0 + rw + wheel / 2, y0 + h / 2];
    this.wheel(g, s, crank, mx, my, 0.36 * wheel);
  }

  /** @param {CanvasRenderingContext2D} g @param {Shape} s @param {number} crank @param {number} x @param {number} y @param {number} R */
  wheel(g, s, crank, x, y, R) {
    const c = this.colours;
    if (R < 20) return;
    g.save();
    g.translate(x, y);
    g.beginPath();
    for (let k = 0; k < TEETH; k++) {
      // tooth 1 passes the sensor at the top so far before cylinder 1's top
      const at = rad(crank + s.first_tooth_btdc_deg - 6 * k - 90);
      g.moveTo((R - 5) * Math.cos(at), (R - 5) * Math.sin(at));
      g.lineTo(R * Math.cos(at), R * Math.sin(at));
    }
    g.lineCap = "butt";
    g.lineWidth = Math.max(1.5, 0.055 * R);
    g.strokeStyle = c.ink;
    g.stroke();
    g.beginPath();
    g.arc(0, 0, R - 5, 0, 7);
    g.lineWidth = 1.8;
    g.stroke();
    g.beginPath();
    g.arc(0, 0, 0.16 * R, 0, 7);
    g.stroke();
    g.beginPath();
    g.rect(-5, -R - 16, 10, 13);
    g.fillStyle = c.meas;
    g.fill();
    g.fillStyle = c.soft;
    g.font = `13px ${FONT_WORDS}`;
    g.textAlign = "center";
    if (R > 56) {
      const passed = Math.floor(((((crank + s.first_tooth_btdc_deg) % 360) + 360) % 360) / 6) + 1;
      g.fillText(say("seat-engine-tooth"), 0, 0.16 * R + 18);
      g.fillStyle = c.meas;
      g.font = `16px ${FONT_FIGURES}`;
      g.fillText(passed <= TEETH ? String(passed) : say("seat-engine-gap"), 0, 0.16 * R + 36);
    }
    g.restore();
  }
}

const FONT_WORDS = '"Atkinson Next", system-ui, sans-serif';
const FONT_FIGURES = '"Atkinson Mono", ui-monospace, monospace';

/** Plain numbers of the engine, for who does not see a drawing. */
export function numbers() {
  const body = el("tbody", null);
  const node = el(
    "details",
    { class: "numbers" },
    el("summary", { text: say("seat-values") }),
    el("table", null, el("caption", { class: "sight-less", text: say("seat-values") }), body),
  );
  /** @type {{ id: string, name: string, text: string }[]} */
  let last = [];
  node.addEventListener("toggle", () => show(last));
  const show = (/** @type {{ id: string, name: string, text: string }[]} */ values) => {
    last = values;
    if (!node.open) return;
    const rows = [...body.children];
    if (rows.length !== values.length) {
      fill(body, ...values.map(() => el("tr", null, el("th", { scope: "row" }), el("td", { class: "number meas" }))));
    }
    values.forEach((v, k) => {
      const row = body.children[k];
      setText(row.children[0], v.name);
      setText(row.children[1], v.text);
    });
  };
  return { node, show };
}

/** One step on, for who wants to see it: a tooth, a working cycle. @param {(what: "tooth" | "cycle") => void} step */
export function steps(step) {
  return el(
    "div",
    { class: "row" },
    button(say("seat-time-tooth"), () => step("tooth")),
    button(say("seat-time-cycle"), () => step("cycle")),
  );
}
