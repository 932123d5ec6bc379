// The small tools beside the kettle: by hand on a desk and on a phone, without
// scripts, by keyboard, and with what cannot be read.
import assert from "node:assert/strict";
import { test } from "node:test";
import { DESK, bench, cutOff, violations } from "./lib.mjs";

const WIDTHS = [["on a desk", DESK], ["at 390 px", { width: 390, height: 844 }]];

const set = await bench({ bypassCSP: true });
const input = (page, tool, name) => page.locator(`#${tool}-${name}`);
const found = (page, tool) => page.locator(`#${tool} .found strong`);

for (const [where, viewport] of WIDTHS) {
  test(`a warm hydrometer is read ${where}, and the page breaks no rule`, async () => {
    const page = await (await set.open({ viewport })).newPage();
    await page.goto("/measure");
    await input(page, "hydrometer", "reading").fill("1.048");
    await input(page, "hydrometer", "at").fill("28 °C");
    await page.locator("#hydrometer button").click();
    await found(page, "hydrometer").waitFor();
    assert.match(await found(page, "hydrometer").innerText(), /^1\.050\d ± 0\.0010 \(12\.\d °P\)$/);
    assert.equal(await cutOff(page), false, "nothing is cut off at the side");
    assert.deepEqual(await violations(page), []);
  });
}

test("the address holds the readings and opens with the answer", async () => {
  const page = await (await set.open({ javaScriptEnabled: false })).newPage();
  await page.goto("/measure");
  await input(page, "alcohol", "original").fill("1.052");
  await input(page, "alcohol", "now").fill("1.011");
  await input(page, "alcohol", "now").press("Enter");
  await page.waitForURL(/tool=alcohol/);
  const other = await (await set.open({ javaScriptEnabled: false })).newPage();
  await other.goto(page.url());
  assert.match(await found(other, "alcohol").innerText(), /^5\.\d+ ± 0\.\d+ % vol$/);
  assert.equal(await input(other, "alcohol", "original").inputValue(), "1.052");
  assert.match(await other.locator("#alcohol .answer").innerText(), /recommended/);
});

test("what cannot be read is told beside its field, and stays there", async () => {
  const page = await (await set.open({ javaScriptEnabled: false })).newPage();
  await page.goto("/measure");
  await input(page, "hydrometer", "reading").fill("1.048");
  await input(page, "hydrometer", "at").fill("28 °Q");
  const answer = page.waitForResponse((r) => r.url().includes("tool=hydrometer"));
  await page.locator("#hydrometer button").click();
  assert.equal((await answer).status(), 422);
  const at = input(page, "hydrometer", "at");
  assert.equal(await at.inputValue(), "28 °Q");
  assert.equal(await at.getAttribute("aria-invalid"), "true");
  assert.match(await page.locator("#hydrometer-at-fault").innerText(), /unknown unit "°Q"/);
  assert.equal(await input(page, "hydrometer", "reading").getAttribute("aria-invalid"), null);
  await page.locator("#spirit button").click();
  assert.match(await page.locator("#spirit-reading-fault").innerText(), /write it as in 991/);
});

test("by keyboard alone the answer follows the field, and the focus stays", async () => {
  const page = await (await set.open()).newPage();
  const errors = [];
  page.on("pageerror", (e) => errors.push(String(e)));
  await page.goto("/measure");
  await input(page, "dilute", "volume").focus();
  await page.keyboard.type("20 L");
  await page.keyboard.press("Tab");
  await page.keyboard.type("1.060");
  await page.keyboard.press("Tab");
  assert.equal(await page.locator("#dilute .trouble").count(), 0, "what is not finished is no fault");
  await page.keyboard.type("1.048");
  await page.keyboard.press("Tab");
  await found(page, "dilute").waitFor();
  assert.match(await found(page, "dilute").innerText(), /^5\.\d+ ± 0\.\d+ L$|^5 ± /);
  assert.equal(await page.evaluate(() => document.activeElement.id), "dilute-at");
  assert.match(page.url(), /to=1\.048/);
  assert.deepEqual(errors, []);
});

test("a strength by density stands with its caution", async () => {
  const page = await (await set.open()).newPage();
  await page.goto("/measure?tool=spirit&reading=956.42+kg%2Fm3&at=13+%C2%B0C");
  assert.match(await page.locator("#spirit .answer").innerText(), /31\.0/);
  assert.match(await page.locator("#spirit .caution").innerText(), /Distilling/);
});

for (const [where, viewport] of WIDTHS) {
  test(`beer is drawn through a depth ${where}, and the page breaks no rule`, async () => {
    const page = await (await set.open({ viewport })).newPage();
    await page.goto("/measure");
    await input(page, "glass", "colour").fill("20 EBC");
    await input(page, "glass", "depth").fill("5 cm");
    await page.locator("#glass button").click();
    await found(page, "glass").waitFor();
    assert.match(await found(page, "glass").innerText(), /^17(\.\d)? %/);
    const drawn = page.locator("#glass .answer svg");
    assert.match(await drawn.getAttribute("aria-label"), /^drawn as #b[89a]5[89a]0[0-2]$/);
    assert.deepEqual(await violations(page), []);
    await input(page, "glass", "depth").fill("5 pounds");
    await page.locator("#glass button").click();
    await page.locator("#glass-depth-fault").waitFor();
    assert.equal(await input(page, "glass", "depth").inputValue(), "5 pounds");
  });
}
