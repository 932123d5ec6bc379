// The tables of malts and hops: every figure with how it is known, found by name.
import assert from "node:assert/strict";
import { test } from "node:test";
import { DESK, bench, cutOff, violations } from "./lib.mjs";

const WIDTHS = [["on a desk", DESK], ["at 390 px", { width: 390, height: 844 }]];

const set = await bench({ bypassCSP: true });

for (const [where, viewport] of WIDTHS) {
  test(`a malt and a hop are found ${where}, and the page breaks no rule`, async () => {
    const page = await (await set.open({ viewport })).newPage();
    for (const [address, wanted, figure] of [
      ["/malts", "munich malt, dark", /diastatic power/],
      ["/hops", "saaz", /alpha-acids/],
    ]) {
      await page.goto(address);
      await page.getByLabel("Find by name").fill(wanted);
      await page.getByRole("button", { name: "Find" }).click();
      const rows = page.locator(".ingredients tbody tr");
      await rows.first().waitFor();
      const figures = await rows.allInnerTexts();
      assert.ok(figures.some((row) => figure.test(row)), figures.join("; "));
      assert.ok(figures.every((row) => /read|computed|from memory|common practice|judgement/.test(row)), figures.join("; "));
      assert.equal(await cutOff(page), false, "nothing is cut off at the side");
      assert.deepEqual(await violations(page), []);
      await page.goto(`${address}?find=gravel`);
      await page.getByText("No name holds").waitFor();
    }
  });
}
