// Nothing is asked of any other machine, nothing complains, and little is moved.
import assert from "node:assert/strict";
import { test } from "node:test";
import { CHLORINE, STAGES, bench, edited, keepExamples, openDemo, pagesOf, type } from "./lib.mjs";

const set = await bench();
const MOST_BYTES = 300_000;

test("no page asks another host or complains in the console", async () => {
  const context = await set.open();
  const asked = new Set();
  const complaints = [];
  context.on("request", (request) => asked.add(new URL(request.url()).host));
  context.on("console", (message) => {
    if (["error", "warning"].includes(message.type())) complaints.push(`${message.location().url}: ${message.text()}`);
  });
  context.on("weberror", (error) => complaints.push(String(error.error())));
  const page = await context.newPage();
  await page.addInitScript(() => {
    addEventListener("securitypolicyviolation", (e) => console.error(`policy: ${e.violatedDirective} ${e.blockedURI}`));
  });
  await keepExamples(page);
  const path = await openDemo(page);
  for (const stage of STAGES) {
    await page.goto(`${path}?bench=${stage}`);
    for (const chart of await page.locator(".chart[data-rows]").all()) await chart.focus().then(() => page.keyboard.press("ArrowRight"));
  }
  await page.goto(path);
  await edited(page, () => type(page, CHLORINE, "0.4 mg/L"));
  await edited(page, () => type(page, CHLORINE, "much"));
  await edited(page, () => type(page, CHLORINE, "0.5 mg/L"));
  const pages = await pagesOf(page);
  assert.ok(pages.length >= 12, pages.join(" "));
  for (const address of pages) await page.goto(address, { waitUntil: "load" });
  assert.deepEqual(complaints, []);
  assert.deepEqual([...asked], [new URL(set.server.address).host]);

  const lost = await page.goto("/nowhere");
  assert.equal(lost.status(), 404);
  assert.deepEqual(complaints.filter((c) => !/nowhere: .*404/.test(c)), []);
});

test("the first load of a batch moves little", async () => {
  const path = await openDemo(await (await set.open()).newPage());
  for (const stage of STAGES) {
    const page = await (await set.open()).newPage();
    const bodies = [];
    page.on("response", (response) => bodies.push(response.body()));
    await page.goto(`${path}?bench=${stage}`, { waitUntil: "networkidle" });
    const sizes = (await Promise.all(bodies)).map((body) => body.length);
    assert.ok(sizes.length >= 6, "page, styles and scripts");
    const sum = sizes.reduce((a, b) => a + b, 0);
    assert.ok(sum < MOST_BYTES, `${stage}: ${sum} bytes`);
    await page.context().close();
  }
});
