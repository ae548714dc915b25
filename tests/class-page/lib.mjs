// What every trial of the pages needs: a class that runs, a browser, a seat that is worked at by pointer or by keys.

import { spawn } from "node:child_process";
import { mkdtempSync, readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { chromium } from "playwright-core";

export const PROGRAM = process.env.IDLEWRIGHT ?? "target/debug/idlewright";
export const PICTURES = process.env.PICTURES ?? "";
const AXE = readFileSync(createRequire(import.meta.url).resolve("axe-core"), "utf8");
/** Longest that anything is waited for on a slow machine [ms]. */
export const LONG = 180_000;
export const WIDE = { width: 1366, height: 768 };
export const TABLET = { width: 820, height: 1180 };
export const PHONE = { width: 390, height: 844 };

/** @param {boolean} is @param {string} what */
export function check(is, what) {
  if (!is) throw new Error(`not so: ${what}`);
}

export const pause = (/** @type {number} */ ms) => new Promise((done) => setTimeout(done, ms));

/** Until something is so. @param {string} what @param {() => Promise<any> | any} is @param {number} [longest] */
export async function until(what, is, longest = LONG) {
  const end = Date.now() + longest;
  for (;;) {
    const now = await is();
    if (now) return now;
    if (Date.now() > end) throw new Error(`waited for: ${what}`);
    await pause(100);
  }
}

/** A class in a new folder, or in one that is there. */
export class Room {
  /** @param {string} [folder] */
  constructor(folder) {
    this.folder = folder ?? mkdtempSync(join(tmpdir(), "class-"));
    this.port = 0;
    this.key = "";
    this.word = "";
    this.url = "";
  }

  /** @param {string[]} [more] */
  async open(more = []) {
    const listen = `127.0.0.1:${this.port}`;
    const child = spawn(PROGRAM, ["class", this.folder, "--listen", listen, ...more], { stdio: ["ignore", "pipe", "pipe"] });
    this.child = child;
    let said = "";
    child.stdout.on("data", (d) => (said += d));
    child.stderr.on("data", (d) => (said += d));
    const gone = new Promise((_, no) => child.once("exit", (code) => no(new Error(`the class ended (${code}): ${said}`))));
    gone.catch(() => {});
    await Promise.race([until("the class to open", () => /https?:\/\/[^\s]+\//.test(said) && said.split("\n").length > 3, 60_000), gone]);
    await pause(200);
    this.url = /https?:\/\/[^\s]+\//.exec(said)?.[0] ?? "";
    this.port = Number(new URL(this.url).port);
    this.key = /wall\?key=([0-9a-f]+)/.exec(said)?.[1] ?? this.key;
    this.word = /word (\S+)/.exec(said)?.[1] ?? this.word;
    return this;
  }

  /** As a power cut does it. */
  async kill() {
    const child = this.child;
    if (!child || child.exitCode !== null) return;
    const ended = new Promise((done) => child.once("exit", done));
    child.kill("SIGKILL");
    await ended;
  }
}

/** @type {import("playwright-core").Browser | null} */
let browser = null;
/** What browsers complained of: errors of scripts, of the console, of the content policy. */
export const complaints = /** @type {string[]} */ ([]);

export async function open() {
  browser ??= await chromium.launch({
    executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
    args: ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update", "--disable-sync"],
  });
  return browser;
}
export async function close() {
  await browser?.close();
  browser = null;
}

/**
 * A page with a profile of its own.
 * @param {{ viewport?: { width: number, height: number }, theme?: "light" | "dark", name?: string }} [how]
 */
export async function newPage(how = {}) {
  const context = await (await open()).newContext({ viewport: how.viewport ?? WIDE, colorScheme: how.theme ?? "light", hasTouch: (how.viewport?.width ?? 1366) < 1000 });
  const page = await context.newPage();
  listen(page, how.name ?? "page");
  page.setDefaultTimeout(LONG);
  return page;
}

/** @param {import("playwright-core").Page} page @param {string} name */
export function listen(page, name) {
  page.on("pageerror", (e) => complaints.push(`${name}: ${e.stack ?? e.message}`));
  page.on("console", (m) => {
    // a cut line is told by the browser itself, whoever catches it
    if (/WebSocket connection to|ERR_INTERNET_DISCONNECTED|ERR_CONNECTION|Failed to load resource/.test(m.text())) return;
    if (m.type() === "error" || /Content Security Policy/i.test(m.text())) complaints.push(`${name}: ${m.text()}`);
  });
}

/** Nothing serious that hinders who uses a screen reader. @param {import("playwright-core").Page} page @param {string} what */
export async function accessible(page, what) {
  // put in by the driver, past the page's own policy
  await page.evaluate(AXE);
  const found = await page.evaluate(async () => {
    const all = await /** @type {any} */ (window).axe.run(document, { resultTypes: ["violations"] });
    return all.violations
      .filter((/** @type {any} */ v) => ["serious", "critical"].includes(v.impact))
      .map((/** @type {any} */ v) => `${v.id}: ${v.nodes.map((/** @type {any} */ n) => n.target.join(" ")).slice(0, 4).join(", ")}`);
  });
  check(found.length === 0, `${what} hinders nobody: ${found.join("; ")}`);
}

/** Nothing has to be scrolled sideways. @param {import("playwright-core").Page} page @param {string} what */
export async function fits(page, what) {
  const [wide, room] = await page.evaluate(() => [Math.max(document.documentElement.scrollWidth, document.body.scrollWidth), innerWidth]);
  check(wide <= room, `${what} fits: ${wide} of ${room} px`);
}

/** @param {import("playwright-core").Page} page @param {string} name */
export async function picture(page, name) {
  if (PICTURES) await page.screenshot({ path: join(PICTURES, `${name}.png`) });
}

/** A pair of hands at a page: a pointer, or keys alone. */
export class Hands {
  /** @param {import("playwright-core").Page} page @param {"pointer" | "keys"} by */
  constructor(page, by) {
    this.page = page;
    this.by = by;
  }

  /** Tab to something. @param {import("playwright-core").Locator} at */
  async tabTo(at) {
    const has = () => at.evaluate((node) => node === document.activeElement);
    for (let k = 0; k < 400; k++) {
      if (await has()) return;
      await this.page.keyboard.press("Tab");
    }
    throw new Error(`Tab does not come to ${at}`);
  }

  /** Presses what is found. @param {import("playwright-core").Locator} at */
  async on(at) {
    await at.waitFor({ state: "visible" });
    await until("it to be enabled", () => at.isEnabled());
    if (this.by === "pointer") await at.click();
    else {
      await this.tabTo(at);
      await this.page.keyboard.press("Enter");
    }
  }

  /** Presses a button of that name. @param {string | RegExp} name @param {import("playwright-core").Locator} [within] */
  async press(name, within) {
    await this.on((within ?? this.page.locator("body")).getByRole("button", { name }).first());
  }

  /** Types into a field. @param {string | RegExp} label @param {string} text @param {import("playwright-core").Locator} [within] */
  async type(label, text, within) {
    await this.into((within ?? this.page.locator("body")).getByLabel(label).first(), text);
  }

  /** @param {import("playwright-core").Locator} at @param {string} text */
  async into(at, text) {
    if (this.by === "pointer") await at.click();
    else await this.tabTo(at);
    await this.page.keyboard.press("ControlOrMeta+a");
    await this.page.keyboard.type(text);
  }

  /** One of several choices, by its id. @param {string} id @param {import("playwright-core").Locator} within */
  async choose(id, within) {
    const at = within.locator(`input[type=radio][value="${id}"]`).first();
    if (this.by === "pointer") {
      await at.click();
      return;
    }
    // Tab comes to the group's first choice, arrows go on
    const group = within.locator("input[type=radio]");
    const count = await group.count();
    for (let k = 0; k < 400; k++) {
      const [inside, there] = [await group.evaluateAll((all) => all.includes(/** @type {any} */ (document.activeElement))), await at.evaluate((n) => n === document.activeElement)];
      if (there) break;
      await this.page.keyboard.press(inside ? "ArrowDown" : "Tab");
      if (k > 300 + count) throw new Error(`arrows do not come to ${id}`);
    }
    await this.page.keyboard.press("Space");
    check(await at.isChecked(), `${id} is chosen`);
  }

  /** A key of the board, or the place that does the same. @param {string} key @param {() => import("playwright-core").Locator} place */
  async either(key, place) {
    if (this.by === "keys") {
      await this.page.evaluate(() => /** @type {HTMLElement | null} */ (document.activeElement)?.blur());
      await this.page.keyboard.press(key);
    } else await place().click();
  }
}

/** A trainee's seat. */
export class Seat extends Hands {
  /** @param {Room} room @param {string} word */
  async join(room, word) {
    this.word = word;
    await this.page.goto(room.url);
    await this.type(/class word/i, room.word);
    await this.type(/name of your seat/i, word);
    await this.press("Join");
    await this.page.waitForURL(/seat$/);
  }
  /** The car is there, and its cautions are read. */
  async begin() {
    const read = this.page.getByRole("button", { name: /I have read them/ });
    await read.waitFor();
    await this.on(read);
    await this.page.locator("#middle").waitFor({ state: "visible" });
  }
  /** Simulated time since the car came in [s]. */
  async time() {
    const text = await this.page.locator(".time-now").innerText();
    return text.split(":").map(Number).reduce((all, part) => 60 * all + part, 0);
  }
  /** On by so many seconds, as fast as it goes. @param {number} seconds */
  async wait(seconds) {
    const from = await this.time();
    await this.either("o", () => this.page.getByRole("button", { name: "Drive or wait…" }).first());
    const sheet = this.page.locator("dialog[open]");
    await this.type("for", String(seconds / 60), sheet);
    await this.press("Run ahead", sheet);
    await until(`${seconds} s to pass`, async () => (await this.time()) >= from + seconds - 1.1);
    await until("time to stand", () => this.page.locator(".goes").isHidden());
  }
  /** @param {"off" | "on" | "start"} to */
  async key(to) {
    await this.either({ off: "q", on: "w", start: "e" }[to], () => this.page.locator("[data-hand=key] [role=radio]").nth(["off", "on", "start"].indexOf(to)));
  }
  async liftPedal() {
    await this.either("Backspace", () => this.page.getByRole("button", { name: "Release", exact: true }));
  }
  /** How fast time goes. @param {string} key @param {string} name */
  async pace(key, name) {
    await this.either(key, () => this.page.getByRole("radiogroup", { name: "Pace" }).getByRole("radio", { name, exact: true }));
  }
  /** Asks the module over the tester: opens the line of that id, and does it by a second press. @param {string} id @param {string} does */
  async ask(id, does) {
    const box = this.page.locator("#group-ask");
    if (!(await box.evaluate((d) => /** @type {HTMLDetailsElement} */ (d).open))) {
      if (this.by === "keys") await this.either("m", () => box);
      else await box.locator("summary").first().click();
    }
    await this.line(box, id, does);
  }
  /** Opens a line of a group and does it. @param {import("playwright-core").Locator} box @param {string} id @param {string} does @param {(inside: import("playwright-core").Locator) => Promise<void>} [set] */
  async line(box, id, does, set) {
    const item = box.locator(`.offers > li[data-key="${id}"]`);
    const head = item.locator("button").first();
    if ((await head.getAttribute("aria-expanded")) !== "true") await this.on(head);
    await set?.(item);
    await this.press(new RegExp(`^${does}`), item.locator(".inside"));
  }
  /** Other work. @param {string} id @param {string} does @param {(inside: import("playwright-core").Locator) => Promise<void>} [set] */
  async work(id, does, set) {
    const box = this.page.locator("#group-work");
    if (!(await box.evaluate((d) => /** @type {HTMLDetailsElement} */ (d).open))) await this.on(box.locator("summary").first());
    await this.line(box, id, does, set);
  }
  /** A speed held on the rollers. @param {number} rpm @param {number} nm */
  async hold(rpm, nm) {
    await this.work("rollers", "Do this", async (inside) => {
      await this.into(inside.locator("[data-field=rpm] input"), String(rpm));
      await this.into(inside.locator("[data-field=nm] input"), String(nm));
    });
  }
  /** The question in front is answered. @param {string} ask its id @param {string | number} says a choice's id, or a number */
  async answer(ask, says) {
    const box = this.page.locator(`dialog.held[open] fieldset[data-ask="${ask}"]`);
    await box.waitFor();
    if (typeof says === "number") await this.into(box.locator("input[type=text]"), String(says));
    else await this.choose(says, box);
    await this.press("Submit", box);
    await box.waitFor({ state: "detached" });
  }
  /** Says what is wrong. @param {string} id */
  async cause(id) {
    await this.either("y", () => this.page.getByRole("button", { name: /Name the cause|Name another cause/ }).first());
    const box = this.page.locator("dialog[open]");
    await this.choose(id, box);
    await this.press("Submit", box);
    await until("the sheet to go", async () => (await this.page.locator("dialog[open]").count()) === 0);
  }
  async handIn() {
    await this.either("F9", () => this.page.getByRole("button", { name: "Hand over the car…" }));
    await this.press(/^Hand over the car$/, this.page.locator("dialog[open]"));
    await this.page.getByRole("heading", { name: "Car handed over" }).waitFor();
  }
  /** A live value as it stands in words. @param {string} name */
  async value(name) {
    const box = this.page.locator("details.numbers");
    if (!(await box.evaluate((d) => /** @type {HTMLDetailsElement} */ (d).open))) await this.on(box.locator("summary"));
    const cell = box.getByRole("row", { name: new RegExp(`^${name}`) }).getByRole("cell").last();
    return Number.parseFloat((await cell.innerText()).replace("\u2212", "-"));
  }
  /** How the last routine stands: none, running, done, failed. */
  routine() {
    return this.page.locator(".routine").getAttribute("data-stands");
  }
  /** What the routine asks for. */
  prompt() {
    return this.page.locator(".routine").innerText();
  }
}

/** The instructor's wall. */
export class Wall extends Hands {
  /** @param {Room} room */
  async enter(room) {
    await this.page.goto(`${room.url}wall?key=${room.key}`);
    await this.page.getByText(room.word).first().waitFor();
    check(!this.page.url().includes("key="), "the key is out of the address");
  }
  /** @param {string} lesson the end of its id @param {boolean} [variants] */
  async assign(lesson, variants = false) {
    await this.press("Assign a job…");
    const box = this.page.locator("dialog[open]");
    await box.locator(`input[name=lesson][value$="${lesson}"]`).check();
    if (!variants) await box.getByRole("checkbox", { name: /different variant/ }).uncheck();
    await this.press("Assign", box);
  }
  /** @param {string} word */
  tile(word) {
    return this.page.locator(".tile").filter({ has: this.page.getByRole("button", { name: `Look at ${word}`, exact: true }) });
  }
  async release() {
    await this.press("Marks…");
    const box = this.page.locator("dialog[open]");
    await this.press("Release", box);
    await this.press("Close", box);
  }
}

/**
 * Runs trials one after the other, and says how each went.
 * @param {Record<string, () => Promise<void>>} trials
 */
export async function run(trials) {
  const wanted = process.argv.slice(2);
  let failed = 0;
  for (const [name, trial] of Object.entries(trials)) {
    if (wanted.length && !wanted.includes(name)) continue;
    const began = Date.now();
    complaints.length = 0;
    try {
      await trial();
      check(complaints.length === 0, `no complaint of the browser: ${complaints.join(" | ")}`);
      console.log(`ok    ${name} (${((Date.now() - began) / 1000).toFixed(0)} s)`);
    } catch (e) {
      failed += 1;
      console.log(`FAIL  ${name}: ${e instanceof Error ? e.stack : e}`);
      for (const [k, page] of (browser?.contexts() ?? []).flatMap((c) => c.pages()).entries()) {
        if (PICTURES) await page.screenshot({ path: join(PICTURES, `failed-${name}-${k}.png`) }).catch(() => {});
      }
    }
    for (const context of browser?.contexts() ?? []) await context.close();
  }
  await close();
  process.exitCode = failed ? 1 : 0;
}
