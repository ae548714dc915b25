// A class behind nginx, by the very lines that docs/class.md gives. Needs nginx.

import { spawn } from "node:child_process";
import { mkdtempSync, readFileSync, writeFileSync } from "node:fs";
import { createServer } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { check, newPage, Room, run, Seat, until, Wall } from "./lib.mjs";

/** A port that nobody uses. @returns {Promise<number>} */
function freePort() {
  return new Promise((done, no) => {
    const server = createServer();
    server.once("error", no);
    server.listen(0, "127.0.0.1", () => {
      const at = server.address();
      server.close(() => done(at && typeof at === "object" ? at.port : 0));
    });
  });
}

/** The handbook's `location` block, for a class at this port. @param {number} port */
function handbook(port) {
  const text = readFileSync(new URL("../../docs/class.md", import.meta.url), "utf8");
  const block = /^ {4}location \/monday\/ \{\n(?: {8}.*\n)+ {4}\}$/m.exec(text)?.[0] ?? "";
  check(block.includes(":8081;"), "the handbook has a location block for the class at 8081");
  return block.replace(":8081;", `:${port};`);
}

/** @param {string} location @param {number} port */
async function nginx(location, port) {
  const dir = mkdtempSync(join(tmpdir(), "proxy-"));
  const temp = ["client_body", "proxy", "fastcgi", "uwsgi", "scgi"].map((k) => `${k}_temp_path ${dir}/${k};`).join("\n");
  writeFileSync(
    join(dir, "nginx.conf"),
    `daemon off; pid ${dir}/pid; error_log ${dir}/errors;\nevents {}\nhttp {\naccess_log off;\n${temp}\nserver {\nlisten 127.0.0.1:${port};\n${location}\n}\n}\n`,
  );
  const child = spawn(process.env.NGINX ?? "nginx", ["-p", dir, "-c", join(dir, "nginx.conf"), "-e", join(dir, "errors")], { stdio: "inherit" });
  const url = `http://127.0.0.1:${port}/monday/`;
  await until("the proxy to answer", () => fetch(url).then((r) => r.ok, () => false), 20_000);
  return { child, url };
}

async function proxied() {
  const room = new Room();
  room.port = await freePort();
  await room.open(["--base-path", "/monday"]);
  const proxy = await nginx(handbook(room.port), await freePort());
  try {
    room.url = proxy.url;
    const wall = new Wall(await newPage({ name: "wall" }), "pointer");
    await wall.enter(room);
    const seat = new Seat(await newPage({ name: "seat" }), "pointer");
    await seat.join(room, "fox");
    await wall.tile("fox").waitFor();
    await wall.assign(process.env.LESSON_IDLES ?? "idles-high");
    await seat.begin();
    await seat.pace("1", "×1");
    await until("time to go on", async () => (await seat.time()) > 2);
    // the line is cut, and the page comes back by itself
    await room.kill();
    await seat.page.waitForTimeout(1500);
    await room.open(["--base-path", "/monday"]);
    room.url = proxy.url;
    const at = await seat.time();
    await until("time to go on after the class came back", async () => (await seat.time()) > at + 2);
  } finally {
    proxy.child.kill();
    await room.kill();
  }
}

await run({ proxied });
