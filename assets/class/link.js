// The line to the class's server: comes back by itself, and loses no act. What was not acknowledged stays in this tab's
// storage and is sent again with the same number; the server does each number once.

import { units } from "./words.js";

/**
 * @typedef {Record<string, any> & { n: number, kind: string }} Order
 * @typedef {object} Heard what a page does with what comes
 * @property {(message: any) => void} message a message of the server, `ack` and `bye` aside
 * @property {(state: "open" | "lost" | "away", waiting: number, why?: string) => void} line how the line stands, and how many
 *   orders were not acknowledged yet
 * @property {(order: Order, refused: string) => void} refused an order that will not be done
 * @property {(order: Order) => void} [taken] an order that was taken
 * @property {() => any} [resume] what is said first after a connection; none for nothing
 */

const FIRST_WAIT_MS = 500;
const LONGEST_WAIT_MS = 8000;
/** Silence after which the line is taken for lost, as a pulled cable tells nobody [ms]. */
const SILENCE_MS = 12_000;
/** Most that is sent at once after a lost line came back; the server takes bursts of 40. */
const BURST = 20;

/**
 * The texts as they are now: a part that was not sent is as it was, of the live values only those that changed are sent.
 * @param {any} before @param {any} sent @returns {any}
 */
export function withTexts(before, sent) {
  const values = new Map((before.values ?? []).map((/** @type {any} */ v) => [v.id, v]));
  for (const v of sent?.values ?? []) values.set(v.id, v);
  return { ...before, ...sent, values: [...values.values()] };
}

export class Link {
  /**
   * @param {string} path relative address of the socket
   * @param {string} store name under which orders are kept
   * @param {Heard} heard
   */
  constructor(path, store, heard) {
    this.path = path;
    this.store = store;
    this.heard = heard;
    /** @type {Order[]} */
    this.waiting = [];
    this.next = 1;
    this.wait = FIRST_WAIT_MS;
    this.attempt = "";
    this.ready = false;
    this.over = false;
    /** @type {WebSocket | null} */
    this.socket = null;
    this.last = 0;
    this.timer = 0;
    addEventListener("online", () => this.now());
    addEventListener("offline", () => this.drop());
    document.addEventListener("visibilitychange", () => {
      if (document.visibilityState === "visible") this.now();
    });
    setInterval(() => this.watch(), 2000);
    this.connect();
  }

  connect() {
    clearTimeout(this.timer);
    if (this.over || this.socket) return;
    const url = new URL(this.path, location.href);
    url.searchParams.set("units", units());
    url.protocol = url.protocol === "https:" ? "wss:" : "ws:";
    const socket = new WebSocket(url);
    this.socket = socket;
    this.ready = false;
    this.last = Date.now();
    socket.addEventListener("open", () => {
      this.last = Date.now();
      const resume = this.heard.resume?.();
      if (resume) socket.send(JSON.stringify(resume));
    });
    socket.addEventListener("message", (e) => {
      if (this.socket === socket) this.take(e.data);
    });
    const gone = () => {
      if (this.socket !== socket) return;
      this.socket = null;
      this.ready = false;
      if (this.over) return;
      this.heard.line("lost", this.waiting.length);
      this.timer = setTimeout(() => this.connect(), this.wait * (0.75 + 0.5 * Math.random()));
      this.wait = Math.min(2 * this.wait, LONGEST_WAIT_MS);
    };
    socket.addEventListener("close", gone);
    socket.addEventListener("error", gone);
  }

  /** Tries at once: the network is back, or somebody looks again. */
  now() {
    if (this.over || this.socket) return;
    this.wait = FIRST_WAIT_MS;
    this.connect();
  }

  /** Lets go of a line that no longer carries anything. */
  drop() {
    const socket = this.socket;
    if (!socket) return;
    this.socket = null;
    this.ready = false;
    socket.close();
    this.heard.line("lost", this.waiting.length);
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.connect(), this.wait);
  }

  watch() {
    // an order without an answer says more than silence: a car that stands has nothing to tell
    if (this.socket && this.waiting.length > 0 && Date.now() - this.last > SILENCE_MS) this.drop();
  }

  /** @param {string} data */
  take(data) {
    this.last = Date.now();
    /** @type {any} */
    let message;
    try {
      message = JSON.parse(data);
    } catch {
      return;
    }
    if (message.kind === "ack") {
      const order = this.waiting.find((o) => o.n === message.n);
      this.waiting = this.waiting.filter((o) => o.n !== message.n);
      this.keep();
      if (order && message.refused) this.heard.refused(order, message.refused);
      else if (order) this.heard.taken?.(order);
      this.heard.line("open", this.waiting.length);
    } else if (message.kind === "bye") {
      if (message.why === "elsewhere" || message.why === "removed") {
        this.over = true;
        this.heard.line("away", this.waiting.length, message.why);
      }
    } else {
      this.heard.message(message);
    }
  }

  /**
   * The server knows this page again: what it has not heard goes out once more.
   * @param {string} attempt names the attempt that orders belong to
   * @param {number} lastN the last order that it has
   */
  welcome(attempt, lastN) {
    if (this.attempt !== attempt) {
      this.attempt = attempt;
      this.waiting = this.kept();
    }
    this.waiting = this.waiting.filter((o) => o.n > lastN);
    this.next = Math.max(lastN, ...this.waiting.map((o) => o.n)) + 1;
    this.keep();
    this.wait = FIRST_WAIT_MS;
    this.ready = true;
    const send = (/** @type {number} */ from) => {
      for (const order of this.waiting.slice(from, from + BURST)) this.socket?.send(JSON.stringify(order));
      if (this.waiting.length > from + BURST) setTimeout(() => send(from + BURST), 1500);
    };
    send(0);
    this.heard.line("open", this.waiting.length);
  }

  /**
   * An order that changes something; it is sent until it is acknowledged.
   * @param {string} kind
   * @param {Record<string, any>} [with_]
   */
  order(kind, with_ = {}) {
    const order = { kind, n: this.next++, ...with_ };
    this.waiting.push(order);
    this.keep();
    if (this.ready && this.socket?.readyState === WebSocket.OPEN) this.socket.send(JSON.stringify(order));
    this.heard.line(this.ready ? "open" : "lost", this.waiting.length);
    return order.n;
  }

  /**
   * Says something that changes nothing; lost with the line.
   * @param {any} message
   */
  tell(message) {
    if (this.ready && this.socket?.readyState === WebSocket.OPEN) this.socket.send(JSON.stringify(message));
  }

  keep() {
    try {
      sessionStorage.setItem(this.store, JSON.stringify({ attempt: this.attempt, waiting: this.waiting }));
    } catch {
      // a browser that keeps nothing still has them in memory
    }
  }

  /** @returns {Order[]} */
  kept() {
    try {
      const kept = JSON.parse(sessionStorage.getItem(this.store) ?? "null");
      return kept?.attempt === this.attempt && Array.isArray(kept.waiting) ? kept.waiting : [];
    } catch {
      return [];
    }
  }
}
