// Three seats and a wall at once; a line that is cut, a page that is loaded again, a server that is killed; what does not
// belong on a page stays text.

import { readdirSync } from "node:fs";
import { join } from "node:path";
import { check, newPage, pause, picture, Room, run, Seat, until, Wall } from "./lib.mjs";

const IDLES = process.env.LESSON_IDLES ?? "idles-high";

/** @param {string} word @param {Room} room @param {"pointer" | "keys"} [by] */
async function sit(word, room, by = "pointer") {
  const seat = new Seat(await newPage({ name: word }), by);
  await seat.join(room, word);
  return seat;
}

/** @param {(room: Room, wall: Wall) => Promise<void>} what */
async function inClass(what) {
  const room = await new Room().open();
  try {
    const wall = new Wall(await newPage({ name: "wall" }), "pointer");
    await wall.enter(room);
    await what(room, wall);
  } finally {
    await room.kill();
  }
}

/** Lines of a seat's logbook, as its page shows them, the latest first. @param {Seat} seat */
async function log(seat) {
  await seat.press("Logbook…");
  const box = seat.page.locator("dialog[open]");
  const lines = await box.locator(".log li").allInnerTexts();
  await seat.press("Close", box);
  return lines;
}

async function together() {
  await inClass(async (room, wall) => {
    const seats = [];
    for (const word of ["fox", "hare", "heron"]) seats.push(await sit(word, room));
    await until("three tiles", async () => (await wall.page.locator(".tile").count()) === 3);
    await wall.assign(IDLES);
    for (const seat of seats) await seat.begin();
    const [fox, hare, heron] = seats;
    await fox.pace("1", "×1");
    await hare.cause("throttle-body");
    await until("the wall to tell hare's cause", async () => /throttle body/.test(await wall.tile("hare").innerText()));
    await picture(wall.page, "class-wall");

    // the class stands, and goes on
    await wall.press("Pause");
    await fox.page.getByText("Your instructor has paused the class.").waitFor();
    const stood = await fox.time();
    await pause(1500);
    check((await fox.time()) - stood <= 1, "time stands while the instructor wants it so");
    await wall.press("Resume");
    await until("time to go on", async () => (await fox.time()) > stood + 1);

    // a note is text, whatever stands in it
    await wall.press("Note…");
    await wall.type("Text", "<b>Coffee</b> <script>alert(1)</script> at ten", wall.page.locator("dialog[open]"));
    await wall.press("Send", wall.page.locator("dialog[open]"));
    for (const seat of seats) {
      await seat.page.locator(".note").getByText("<b>Coffee</b>").waitFor();
      check((await seat.page.locator(".note b, .note script").count()) === 0, "a note is text");
    }

    // one is not allowed what the others are
    await wall.tile("heron").getByRole("checkbox").check();
    await wall.page.locator("details.allow").first().locator("summary").click();
    await wall.page.getByRole("checkbox", { name: "setting the pace" }).uncheck();
    await until("heron's pace to be the instructor's", () => heron.page.getByRole("radio", { name: "×10", exact: true }).isDisabled());
    check(await fox.page.getByRole("radio", { name: "×10", exact: true }).isEnabled(), "fox keeps its own pace");

    // a fault for one
    await wall.press("Apply a fault…");
    const box = wall.page.locator("dialog[open]");
    await wall.type("Find", "coolant", box);
    await box.locator(".offer").first().click();
    await wall.press(/^Apply/, box);
    await wall.page.getByText(/^Fault applied/).waitFor();
    await wall.press("Clear selection");

    // what the class predicts
    await wall.press("Ask the class…");
    await wall.press("Ask", wall.page.locator("dialog[open]"));
    await wall.page.getByText(/1 of 3 have answered/).waitFor();
    check((await wall.page.locator(".bar").count()) === 0, "answers stay hidden until all have answered");
    await fox.cause("stale-idle-air");
    await heron.cause("stale-idle-air");
    await until("the bars", async () => (await wall.page.locator(".bar").count()) >= 3);
    await picture(wall.page, "class-bars");
    await wall.press("Close", wall.page.locator(".bars"));

    // one seat with truth, while its trainee has none
    await wall.press("Look at fox");
    const look = wall.page.locator("dialog.seat-look");
    await look.getByText("idle air needed").waitFor();
    await picture(wall.page, "class-look");
    check(!(await fox.page.locator("body").innerText()).includes("idle air needed"), "the seat shows no truth");
    await wall.press("Close", look);

    // two seats on the same traces, one on the projector without its name
    const compared = await wall.page.context().newPage();
    const ids = await wall.page.locator(".tile").evaluateAll((all) => all.map((t) => /** @type {any} */ (t).tile.seat));
    await compared.goto(`${room.url}wall#compare=${ids[0]},${ids[1]}`);
    await compared.locator("figure canvas").first().waitFor();
    await picture(compared, "class-compare");
    const projected = await wall.page.context().newPage();
    await projected.goto(`${room.url}wall#project=${ids[0]}`);
    await projected.getByText("Learned values").waitFor();
    check(!(await projected.locator("body").innerText()).includes("fox"), "no name stands on the projector");
    await picture(projected, "class-project");
    await compared.close();
    await projected.close();

    // marks with a reason
    await fox.handIn();
    await until("fox's mark", async () => /handed over/.test(await wall.tile("fox").innerText()));
    await wall.press("Marks…");
    const marks = wall.page.locator("dialog[open]");
    await wall.press("Change mark…", marks);
    const other = wall.page.locator("dialog[open]").last();
    await wall.type("Marks", "3", other);
    await wall.press("Save", other);
    await other.getByText("Enter a reason").waitFor();
    await wall.type("Reason", "explained it well", other);
    await wall.press("Save", other);
    await wall.press("Release", marks);
    await wall.press("Close", marks);
    await fox.page.getByRole("link", { name: "Open the debrief" }).waitFor();
  });
}

/** A cut line: what is done meanwhile is kept, sent once, and done once. */
async function cut() {
  await inClass(async (room, wall) => {
    const seat = await sit("fox", room);
    await wall.assign(IDLES);
    await seat.begin();
    await seat.page.context().setOffline(true);
    await seat.page.evaluate(() => dispatchEvent(new Event("offline")));
    await seat.page.getByText(/^Connection lost/).waitFor();
    await seat.page.locator("[data-hand=lamps]").click();
    await seat.page.locator("[data-hand=heated_glass]").click();
    await seat.page.getByText(/2 waiting/).waitFor();
    await seat.page.context().setOffline(false);
    await until("both to be on", async () => {
      const is = (/** @type {string} */ hand) => seat.page.locator(`[data-hand=${hand}]`).getAttribute("aria-checked");
      return (await is("lamps")) === "true" && (await is("heated_glass")) === "true";
    });
    await until("nothing to wait", () => seat.page.locator("p.line").isHidden());
    check((await log(seat)).filter((l) => /lamps|heated/i.test(l)).length === 2, "each act was done once");

    // the page is loaded again while an act waits
    await seat.page.context().setOffline(true);
    await seat.page.evaluate(() => dispatchEvent(new Event("offline")));
    await seat.page.getByText(/^Connection lost/).waitFor();
    await seat.page.locator("[data-hand=blower]").click();
    await seat.page.getByText(/1 waiting/).waitFor();
    await seat.page.context().setOffline(false);
    await seat.page.reload();
    await until("the blower to be on", async () => (await seat.page.locator("[data-hand=blower]").getAttribute("aria-checked")) === "true");
    check((await log(seat)).filter((l) => /blower/i.test(l)).length === 1, "what waited before the page was loaded again was done once");
    check((await seat.page.locator("dialog[open]").count()) === 0, "cautions that were read are not asked for again");

    // the same seat on another page: the first is told
    const second = await seat.page.context().newPage();
    await second.goto(`${room.url}seat`);
    await seat.page.getByText(/opened on another page/).waitFor();
    await second.getByRole("heading", { level: 1 }).waitFor();
  });
}

/** The server is killed in the middle of a learn, and started again: the seat goes on as if nothing had been. */
async function killed() {
  const room = await new Room().open();
  try {
    const wall = new Wall(await newPage({ name: "wall" }), "pointer");
    await wall.enter(room);
    const seat = await sit("fox", room);
    await wall.assign(IDLES);
    await seat.begin();
    await seat.key("off");
    await seat.wait(12);
    await seat.key("on");
    await seat.wait(2);
    await seat.ask("reset_idle_air", "Reset");
    await seat.press("Continue without answering", seat.page.locator("dialog.held"));
    await seat.wait(2);
    await seat.key("start");
    await seat.wait(10);
    await seat.ask("learn_idle", "Start");
    await seat.pace("1", "×1");
    await until("the learn to run", async () => (await seat.routine()) === "running");
    await pause(1500);
    const stood = await seat.time();
    await room.kill();
    await seat.page.getByText(/^Connection lost/).waitFor();
    await seat.page.locator("[data-hand=lamps]").click();
    await seat.page.locator("[data-hand=lamps]").click();
    await room.open();
    await until("the line to be back", () => seat.page.locator("p.line").isHidden());
    check((await seat.time()) >= stood - 3, `time stands at ${await seat.time()} s, before the cut at ${stood} s`);
    for (let k = 0; k < 24 && (await seat.routine()) === "running"; k++) await seat.wait(10);
    const lines = await log(seat);
    check(lines.filter((l) => /lamps/i.test(l)).length === 2, "what was done while the server was gone was done once each");
    await seat.handIn();
    await until("a logbook", () => readdirSync(join(room.folder, "logbooks")).length === 1);
    await until("the wall to be back", async () => /handed over/.test(await wall.tile("fox").innerText()));
  } finally {
    await room.kill();
  }
}

/** An exam: a clock, no way back, a locked lid; marks stay hidden until they are released. */
async function exam() {
  await inClass(async (room, wall) => {
    const seat = await sit("fox", room);
    await wall.tile("fox").waitFor();
    await wall.press("Exam…");
    const box = wall.page.locator("dialog[open]");
    await box.locator(`input[name=exam][value$="${IDLES}"]`).check();
    await wall.type("Time limit", "40", box);
    await wall.press("Start the exam", box);
    await seat.begin();
    await seat.page.getByRole("timer").getByText(/left/).waitFor();
    check(!(await seat.page.getByRole("button", { name: "Show true values…" }).isVisible()), "the lid is locked");
    check(!(await seat.page.getByRole("button", { name: "Go back" }).isVisible()), "there is no way back");
    await seat.handIn();
    await pause(1000);
    check((await seat.page.getByRole("link", { name: "Open the debrief" }).count()) === 0, "marks stay hidden");
  });
}

await run({ together, cut, killed, exam });
