// Batches side by side: ticked in the list, what made them differ, the steps as a chart and
// as files, what cannot be compared; on a desk and on a phone.
import assert from "node:assert/strict";
import { test } from "node:test";
import { DESK, bench, cutOff, openDemo, violations } from "./lib.mjs";

const WIDTHS = [["on a desk", DESK], ["at 390 px", { width: 390, height: 844 }]];

const set = await bench({ bypassCSP: true });

for (const [where, viewport] of WIDTHS) {
  test(`two batches that are ticked are laid side by side ${where}, and the page breaks no rule`, async () => {
    const page = await (await set.open({ viewport })).newPage();
    await openDemo(page, "lantern-pale-first");
    await openDemo(page, "lantern-pale");
    await page.goto("/");
    await page.getByRole("checkbox", { name: "compare Lantern Pale, first brewing" }).first().check();
    await page.getByRole("checkbox", { name: "compare Lantern Pale, second brewing" }).first().check();
    await page.getByRole("button", { name: "Compare" }).click();
    await page.getByRole("heading", { name: "What made it differ", exact: true }).waitFor({ timeout: 60_000 });
    assert.ok((await page.locator("ul.made li").count()) > 3);
    const left = page.locator("ul.made li").filter({ hasText: "chlorine left" });
    assert.match(await left.innerText(), /treatment against chlorine/);
    assert.match(await page.locator("#steps figure").innerText(), /What made it differ/);
    assert.equal(await cutOff(page), false, "nothing is cut off at the side");
    assert.deepEqual(await violations(page), []);
    await page.getByLabel("Draw", { exact: true }).first().selectOption({ label: "chlorine left" });
    await page.locator("#steps").getByRole("button", { name: "Draw" }).click();
    await page.waitForURL(/figure=chlorine_left/);
    const saved = await page.request.get(await page.getByRole("link", { name: "save as CSV" }).getAttribute("href"));
    assert.match(await saved.text(), /treatment against chlorine/);
  });

  test(`one batch alone asks for another ${where}, and a batch that is gone is told`, async () => {
    const page = await (await set.open({ viewport })).newPage();
    await openDemo(page, "lantern-pale");
    await page.getByRole("link", { name: "compare", exact: true }).click();
    assert.equal(await page.locator("ul.ticks input:checked").count(), 1);
    await page.getByRole("button", { name: "Compare" }).click();
    assert.match(await page.getByRole("alert").innerText(), /two batches/);
    assert.deepEqual(await violations(page), []);
    assert.equal(await cutOff(page), false, "nothing is cut off at the side");
    await page.goto("/compare?of=019f1c2e-7a40-7c11-9d3e-5b0c4f2a8e61&of=nothing");
    assert.match(await page.getByRole("alert").innerText(), /no batch/);
  });
}
