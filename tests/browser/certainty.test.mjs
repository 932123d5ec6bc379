// How sure a batch is: figures with their intervals, what to know better, the shares as a
// chart and as files; on a desk and on a phone.
import assert from "node:assert/strict";
import { test } from "node:test";
import { DESK, bench, cutOff, edited, openDemo, type, violations, worked } from "./lib.mjs";

const WIDTHS = [["on a desk", DESK], ["at 390 px", { width: 390, height: 844 }]];

const set = await bench({ bypassCSP: true });

for (const [where, viewport] of WIDTHS) {
  test(`the figures are told with how sure they are ${where}, and the page breaks no rule`, async () => {
    const page = await (await set.open({ viewport })).newPage();
    await openDemo(page, "lantern-pale");
    await page.getByRole("link", { name: "how sure" }).click();
    await page.getByRole("heading", { name: "How sure it is" }).waitFor({ timeout: 60_000 });
    await worked(page);
    const row = page.getByRole("row").filter({ has: page.getByRole("rowheader", { name: "original gravity" }) }).first();
    const figures = await row.getByRole("cell").allInnerTexts();
    const [reckoned, low, high] = figures.map((text) => Number.parseFloat(text));
    assert.ok(low < reckoned && reckoned < high, figures.join(" "));
    assert.match(figures[3], /\d %/);
    assert.ok((await page.locator("ol.notes li").count()) > 2);
    assert.equal(await cutOff(page), false, "nothing is cut off at the side");
    assert.deepEqual(await violations(page), []);
    assert.equal(await page.locator("#look").inputValue(), "glance");
    const saved = await page.request.get(await page.getByRole("link", { name: "save as CSV" }).getAttribute("href"));
    assert.match(await saved.text(), /original gravity/);
  });
}

test("intervals stand beside the figures of a batch, and those of an edit follow it", async () => {
  const page = await (await set.open({ viewport: DESK })).newPage();
  await openDemo(page, "lantern-pale");
  await page.goto(page.url() + "?bench=boil");
  const beside = page.locator("#sure-original_gravity");
  await beside.filter({ hasText: /^1\.\d+–1\.\d+$/ }).waitFor({ timeout: 60_000 });
  const before = await beside.innerText();
  await edited(page, () => type(page, "boil.time", "110 min"));
  await page.waitForFunction(
    (old) => { const now = document.getElementById("sure-original_gravity").innerText; return now && now !== old; },
    before, { timeout: 60_000 },
  );
  const ends = (text) => text.split("–").map(Number);
  assert.ok(ends(await beside.innerText())[1] > ends(before)[1], "a longer boil is stronger");
  const row = (key) => page.locator(`#sure-row-${key}`).filter({ hasText: /^[\d.]+–[\d.]+/ });
  for (const key of ["steam", "into_fermenter", "wort_ph", "ferulic_acid"]) await row(key).waitFor({ timeout: 60_000 });
  await page.goto(page.url().replace("bench=boil", "bench=glass"));
  await page.locator("#sure-aim-alcohol").filter({ hasText: "within the aim" }).waitFor({ timeout: 60_000 });
  await row("beer_ph").waitFor();
  assert.equal(await cutOff(page), false, "nothing is cut off at the side");
  assert.deepEqual(await violations(page), []);
  await page.goto(page.url().replace(/\?.*/, "/brew-day"));
  await row("final_gravity").waitFor({ timeout: 60_000 });
  assert.equal(await cutOff(page), false, "nothing is cut off at the side");
  assert.deepEqual(await violations(page), []);
});
