// Every page, light and dark, wide and narrow, against the rules of WCAG 2.2 A and AA.
import assert from "node:assert/strict";
import { test } from "node:test";
import { CHLORINE, DESK, PHONE, bench, edited, keepExamples, openDemo, pagesOf, type, violations } from "./lib.mjs";

const set = await bench({ bypassCSP: true });
const { batch, pages } = await prepare();

async function prepare() {
  const page = await (await set.open()).newPage();
  await keepExamples(page);
  const path = await openDemo(page);
  await edited(page, () => type(page, CHLORINE, "0.4 mg/L"));
  const late = await (await set.open()).newPage();
  await late.goto(path);
  await edited(page, () => type(page, CHLORINE, "0.5 mg/L"));
  await edited(late, () => type(late, CHLORINE, "0.6 mg/L"));
  const all = await pagesOf(page);
  for (const part of ["/sheet", "/text", "/history", "/history/1", "bench=glass", "/waters/", "/brewhouses/", "/stores/"]) {
    assert.ok(all.some((address) => address.includes(part)), `${part} is among the pages`);
  }
  // The bench that opens first has two addresses.
  const once = all.filter((address) => address !== `${path}?bench=water`);
  return { batch: path, pages: [...once, "/nowhere"] };
}

for (const [width, viewport] of [["1280 px", DESK], ["360 px", PHONE]]) {
  test(`no page breaks a rule at ${width}, light or dark`, async () => {
    const context = await set.open({ viewport });
    const queue = [...pages];
    const found = [];
    await Promise.all([1, 2].map(async () => {
      const page = await context.newPage();
      for (let address = queue.shift(); address; address = queue.shift()) {
        await page.goto(address);
        found.push(...await broken(page, address));
      }
    }));
    assert.deepEqual(found, []);
  });
}

test("a page that tells of a change, a fault or a clash breaks no rule", async () => {
  const context = await set.open();
  const page = await context.newPage();
  await page.goto(batch);
  const late = await context.newPage();
  await late.goto(batch);
  await edited(page, () => type(page, CHLORINE, "0.7 mg/L"));
  await page.locator(".moved").waitFor();
  const found = await broken(page, "after a change");
  await edited(page, () => type(page, CHLORINE, "much"));
  await page.locator(".trouble").waitFor();
  found.push(...await broken(page, "after a fault"));
  await edited(late, () => type(late, CHLORINE, "0.9 mg/L"));
  await late.locator(".trouble").waitFor();
  found.push(...await broken(late, "after a clash"));
  assert.deepEqual(found, []);
});

async function broken(page, where) {
  const found = await violations(page, { unfolded: true });
  return found.map((what) => `${where}, ${what}`);
}
