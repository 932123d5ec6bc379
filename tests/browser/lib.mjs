// What the tests share: a server of their own, a browser, and the steps that many
// of them begin with.
import assert from "node:assert/strict";
import { spawn } from "node:child_process";
import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { createInterface } from "node:readline";
import { after } from "node:test";
import { chromium } from "playwright-core";

// The one that has no windows does a third less work for the same pages.
const CHROMIUM = process.env.CHROMIUM
  || ["/usr/bin/chromium-headless-shell", "/usr/bin/chromium"].find((path) => existsSync(path)) || "";
const SWITCHES = [
  "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
  "--disable-background-networking", "--disable-component-update", "--disable-sync",
];

export const STAGES = ["water", "mash", "boil", "ferment", "package", "glass"];
export const DESK = { width: 1280, height: 900 };
export const PHONE = { width: 360, height: 740 };

/** The field of total chlorine of the first water. */
export const CHLORINE = "water.source[1].total_chlorine";

function binary() {
  const path = process.env.GYLE;
  if (!path) throw new Error("set GYLE to the path of the gyle binary that is to be tested");
  if (!existsSync(path)) throw new Error(`GYLE says ${path}, and there is no such file`);
  return path;
}

// A test that breaks off leaves no server behind.
const running = new Set();
const folders = new Set();
process.once("exit", () => {
  for (const started of running) started.kill("SIGKILL");
  for (const folder of folders) rmSync(folder, { recursive: true, force: true });
});

/** A server on a store of its own. `close` ends it and takes the store away. */
export class Server {
  #process;
  #folder = mkdtempSync(join(tmpdir(), "gylewright-browser-"));
  #port = 0;
  #more = [];

  static async start(more = []) {
    const server = new Server();
    server.#more = more;
    folders.add(server.#folder);
    await server.begin();
    return server;
  }

  get store() { return join(this.#folder, "batches.db"); }

  get address() { return `http://127.0.0.1:${this.#port}`; }

  /** The file of its store. */
  get store() { return join(this.#folder, "batches.db"); }

  /** Starts the program; a second time on the same port and store. */
  async begin() {
    const options = ["serve", "--port", String(this.#port), "--no-browser", "--store", this.store, ...this.#more];
    const started = spawn(binary(), options, { stdio: ["ignore", "pipe", "pipe"] });
    this.#process = started;
    running.add(started);
    started.once("exit", () => running.delete(started));
    let complaints = "";
    started.stderr.on("data", (text) => { complaints += text; });
    const address = await new Promise((resolve, reject) => {
      createInterface({ input: started.stdout }).on("line", (line) => {
        const found = /http:\/\/127\.0\.0\.1:(\d+)\//.exec(line);
        if (found) resolve(found);
      });
      started.on("error", reject);
      started.on("exit", (code) => reject(new Error(`gyle serve ended with ${code}: ${complaints}`)));
    });
    this.#port = Number(address[1]);
  }

  /** Ends the program as a power cut would. */
  async kill() {
    if (this.#process.exitCode !== null || this.#process.signalCode !== null) return;
    const gone = new Promise((resolve) => this.#process.once("exit", resolve));
    this.#process.kill("SIGKILL");
    await gone;
  }

  async close() {
    await this.kill();
    rmSync(this.#folder, { recursive: true, force: true });
  }
}

/** Chromium with a profile of its own. */
export function browse() {
  if (!existsSync(CHROMIUM)) throw new Error(`there is no browser ${CHROMIUM && `at ${CHROMIUM}`}: install the Debian package chromium-headless-shell or chromium, or set CHROMIUM`);
  return chromium.launch({ executablePath: CHROMIUM, args: SWITCHES });
}

/** A server, with more options if need be, and a browser for one file of tests, closed when it is done. */
export async function bench(contextOptions = {}, more = []) {
  const browser = await browse();
  const server = await Server.start(more);
  after(async () => {
    await browser.close();
    await server.close();
  });
  const open = (options = {}) => browser.newContext({
    baseURL: server.address, viewport: DESK, reducedMotion: "reduce", ...contextOptions, ...options,
  });
  return { server, open };
}

/** Opens a demo as a batch, by the button of the first page; gives its address. */
export async function openDemo(page, name = "lantern-pale-first") {
  await page.goto("/");
  await page.locator(`form[action="/demo/${name}"] button`).click();
  await page.waitForURL("**/batch/*");
  return new URL(page.url()).pathname;
}

/** Keeps the examples of the library: a water with analyses, a brewhouse, stores. */
export async function keepExamples(page) {
  for (const shelf of ["/waters", "/brewhouses", "/stores"]) {
    await page.goto(shelf);
    const kept = page.waitForResponse((r) => r.request().method() === "POST");
    await page.getByRole("button", { name: "Add the example" }).click();
    await kept;
  }
}

/** Waits until work that takes long is done, and its answer stands on the page. */
export const worked = (page) => page.locator("#job").waitFor({ state: "detached", timeout: 120_000 });

/** The field whose name is a path of the document. */
export const field = (page, path) => page.locator(`[name="${path}"]`);

/** Types over a field as a person does, and leaves it by Tab when told to. */
export async function type(page, path, text, leave = true) {
  const input = field(page, path);
  await input.click();
  await input.press("Control+a");
  await page.keyboard.type(text);
  if (leave) await page.keyboard.press("Tab");
}

/** Waits until an edit was answered, and gives the answer. */
export async function edited(page, act) {
  const answer = page.waitForResponse((r) => r.request().method() === "POST" && r.url().includes("/edit"));
  await act();
  const response = await answer;
  await response.finished();
  return response;
}

/** What a figure of the strip shows, its interval left out. */
export const figure = (page, stage, label) => page.locator(`.stages a[href$="bench=${stage}"] .figures > div`)
  .filter({ has: page.locator("dt", { hasText: new RegExp(`^${label}$`) }) }).locator(".reckoned");

/** The revision that the page says is open. */
export async function revision(page) {
  const text = await page.locator("header.top .quiet").innerText();
  return Number(/revision (\d+)/.exec(text)?.[1]);
}

/**
 * The address of every page that links lead to from the first page: files are left
 * out, and so is what an address only filters.
 */
export async function pagesOf(page) {
  const known = new Set(["/"]);
  // Causes, findings and tests are read through one template each, and so are the courses
  // that a search found: some stand for all.
  const seen = {};
  const alike = (path) => {
    const [kind] = /^\/knowledge\/\w+\/(?=.)|\/steer\?show=/.exec(path) ?? [];
    if (!kind) return false;
    const some = (seen[kind] ??= new Set());
    if (some.size < (kind.startsWith("/steer") ? 1 : 4)) some.add(path);
    return !some.has(path);
  };
  for (const address of known) {
    const body = await (await page.request.get(address)).text();
    for (const [, href] of body.matchAll(/<a\b[^>]*\bhref="([^"]*)"/g)) {
      const to = new URL(href.replaceAll("&amp;", "&"), new URL(address, "http://127.0.0.1"));
      const file = /\.\w+$/.test(to.pathname);
      if (to.hostname === "127.0.0.1" && !file && !alike(to.pathname + to.search)) known.add(to.pathname + to.search);
    }
  }
  return [...known];
}

/** Whether something of the page is cut off at its side, once its styles are there. */
export async function cutOff(page) {
  await page.waitForLoadState("load");
  return page.evaluate(() => document.documentElement.scrollWidth > document.documentElement.clientWidth);
}

/** The rules of WCAG 2.2 A and AA, and the script that holds a page to them. */
const AXE = readFileSync(new URL("node_modules/axe-core/axe.min.js", import.meta.url), "utf8");
const TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"];

/** The rules whose outcome a colour scheme can change. */
const COLOUR = ["color-contrast", "link-in-text-block"];

/**
 * What breaks a rule on a page, in light, and in dark by what that can change; `unfolded`
 * opens what is folded first.
 */
export async function violations(page, { unfolded = false } = {}) {
  if (unfolded) await page.evaluate(() => document.querySelectorAll("details").forEach((d) => { d.open = true; }));
  await page.addScriptTag({ content: AXE });
  const all = [];
  for (const [scheme, asked] of [
    ["light", { runOnly: { type: "tag", values: TAGS }, rules: { "target-size": { enabled: true } } }],
    ["dark", { runOnly: { type: "rule", values: COLOUR } }],
  ]) {
    await page.emulateMedia({ colorScheme: scheme });
    const result = await page.evaluate((options) => window.axe.run(document, { resultTypes: ["violations"], ...options }), asked);
    assert.ok(result.passes.length > 0, `${scheme}: rules were run`);
    for (const v of result.violations) {
      for (const node of v.nodes) all.push(`${scheme}: ${v.id}: ${node.target.join(" ")}: ${node.failureSummary.split("\n").slice(1).join(" ").trim()}`);
    }
  }
  return all;
}

/** Pictures to look at, in light and dark, where PICTURES names a folder for them. */
export async function picture(page, name) {
  const folder = process.env.PICTURES;
  if (!folder) return;
  mkdirSync(folder, { recursive: true });
  for (const colorScheme of ["light", "dark"]) {
    await page.emulateMedia({ colorScheme });
    await page.screenshot({ path: `${folder}/${name}-${colorScheme}.png`, fullPage: true });
  }
}
