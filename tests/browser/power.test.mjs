// The server dies at any moment: what was acknowledged is there, what was typed is
// still in the page and is saved once the server is back.
import assert from "node:assert/strict";
import { after, afterEach, before, beforeEach, test } from "node:test";
import { CHLORINE, Server, browse, edited, field, openDemo, revision, type, DESK } from "./lib.mjs";

const CALCIUM = "water.source[1].calcium";
const MAGNESIUM = "water.source[1].magnesium";

let browser;
let server;
let page;
let path;
before(async () => { browser = await browse(); });
after(() => browser?.close());
beforeEach(async () => {
  server = await Server.start();
  page = await (await browser.newContext({ baseURL: server.address, viewport: DESK })).newPage();
  path = await openDemo(page);
  await edited(page, () => type(page, CALCIUM, "90 mg/L"));
  await revisionIs(2);
});
afterEach(() => server?.close());

const revisionIs = (n) => page.waitForFunction((w) => document.querySelector("#beside").textContent === w, `revision ${n}`);
const message = () => page.locator("#say:not(.hidden)");

async function typeWhileAway() {
  await server.kill();
  await type(page, CHLORINE, "0.4 mg/L");
  await message().waitFor();
  assert.match(await message().innerText(), /^The server does not answer/);
  assert.equal(await field(page, CHLORINE).inputValue(), "0.4 mg/L");
}

test("typed while the server is gone, saved by a reload", async () => {
  await typeWhileAway();
  await server.begin();
  await page.reload();
  await revisionIs(3);
  assert.equal(await field(page, CHLORINE).inputValue(), "0.4 mg/L");
  assert.equal(await field(page, CALCIUM).inputValue(), "90 mg/L");
  await page.reload();
  assert.equal(await field(page, CHLORINE).inputValue(), "0.4 mg/L");
  assert.equal(await revision(page), 3, "sent once, not with every load");
});

test("typed while the server is gone, saved by the next change", async () => {
  await typeWhileAway();
  await server.begin();
  await edited(page, () => type(page, MAGNESIUM, "12 mg/L"));
  await revisionIs(3);
  assert.equal(await message().count(), 0, "the message is gone");
  await page.goto(path);
  assert.equal(await field(page, CHLORINE).inputValue(), "0.4 mg/L");
  assert.equal(await field(page, MAGNESIUM).inputValue(), "12 mg/L");
});

test("what is kept in the page does not undo what somebody else saved since", async () => {
  await typeWhileAway();
  await server.begin();
  const other = await (await browser.newContext({ baseURL: server.address })).newPage();
  await other.goto(path);
  await edited(other, () => type(other, CALCIUM, "70 mg/L"));
  await page.reload();
  await revisionIs(4);
  assert.equal(await field(page, CALCIUM).inputValue(), "70 mg/L");
  assert.equal(await field(page, CHLORINE).inputValue(), "0.4 mg/L");
});

test("killed while an edit is on its way, again and again", async () => {
  for (let round = 1; round <= 3; round += 1) {
    const value = `0.${round} mg/L`;
    const sent = page.waitForRequest((r) => r.method() === "POST");
    await type(page, CHLORINE, value);
    await sent;
    await new Promise((resolve) => setTimeout(resolve, 15 * (round - 1)));
    await server.kill();
    await server.begin();
    await page.reload();
    await page.waitForFunction(async ([address, words]) => (await (await fetch(address)).text()).includes(words), [`${path}/document.toml`, `total_chlorine = "${value}"`]);
    await page.goto(path);
    assert.equal(await field(page, CHLORINE).inputValue(), value);
    assert.equal(await field(page, CALCIUM).inputValue(), "90 mg/L");
  }
});

test("an answer that says it failed leaves the page and what was typed", async () => {
  await page.route("**/edit?*", (route) => route.fulfill({ status: 500, contentType: "text/html", body: "<h1>no</h1>" }));
  await type(page, CHLORINE, "0.4 mg/L");
  await message().waitFor();
  assert.equal(await page.locator("section.bench").count(), 1);
  assert.equal(await field(page, CHLORINE).inputValue(), "0.4 mg/L");
  await page.unroute("**/edit?*");
  await page.reload();
  await revisionIs(3);
  assert.equal(await field(page, CHLORINE).inputValue(), "0.4 mg/L");
});
