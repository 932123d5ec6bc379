// Packing safely, cleaning, the report and the labels: on a desk and on a phone, without
// scripts, and with what cannot be read.
import assert from "node:assert/strict";
import { test } from "node:test";
import { DESK, bench, cutOff, openDemo, violations } from "./lib.mjs";

const WIDTHS = [["on a desk", DESK], ["at 390 px", { width: 390, height: 844 }]];

const set = await bench({ bypassCSP: true });


for (const [where, viewport] of WIDTHS) {
  test(`packing, cleaning, report and labels break no rule ${where}`, async () => {
    const page = await (await set.open({ viewport })).newPage();
    const batch = await openDemo(page, "lantern-pale");
    for (const path of [`${batch}?bench=package`, `${batch}/report`, `${batch}/labels`, "/cleaning"]) {
      await page.goto(path);
      assert.equal(await cutOff(page), false, `${path}: nothing is cut off at the side`);
      assert.deepEqual(await violations(page), [], path);
    }
  });

  test(`a weak bottle stops the batch ${where}, and a forced sample is written beside it`, async () => {
    const page = await (await set.open({ viewport })).newPage();
    const batch = await openDemo(page, "lantern-pale");
    await page.goto(`${batch}?bench=package`);
    const edited = () => page.waitForResponse((r) => r.url().includes("/edit"));
    let done = edited();
    await page.getByLabel("Class of bottle").selectOption("unknown");
    await (await done).finished();
    await page.locator(".safety .trouble").waitFor();
    assert.match(await page.locator(".safety").innerText(), /Stop\./);
    assert.match(await page.locator(".results").innerText(), /Put on goggles/);
    done = edited();
    await page.getByLabel("Forced sample ended at").fill("1.0x");
    await page.keyboard.press("Tab");
    await (await done).finished();
    await page.locator(".fault").first().waitFor();
    assert.equal(await page.getByLabel("Forced sample ended at").inputValue(), "1.0x", "what was typed stays");
  });
}

test("without scripts a solution is mixed and what cannot be read stays in its field", async () => {
  const page = await (await set.open({ javaScriptEnabled: false })).newPage();
  await page.goto("/cleaning");
  await page.getByLabel("Cleaner or sanitiser").selectOption("hypochlorite");
  await page.getByLabel("Strength wanted").fill("200 mg/L");
  await page.getByLabel("How much of it").fill("10 L");
  await page.getByRole("button", { name: "Mix it" }).click();
  assert.match(await page.locator("#mix .found").innerText(), /38.1 mL/);
  await page.getByLabel("Strength wanted").fill("<b>much");
  await page.getByRole("button", { name: "Mix it" }).click();
  assert.equal(await page.getByLabel("Strength wanted").inputValue(), "<b>much");
  assert.match(await page.locator("#to-fault").innerText(), /mg\/L/);
  await page.getByLabel("This", { exact: true }).selectOption("hypochlorite");
  await page.getByLabel("with this").selectOption("peracetic-acid");
  await page.getByRole("button", { name: "Look it up" }).click();
  assert.match(await page.locator("#together .trouble").innerText(), /chlorine gas/);
});

test("a report asks the network for nothing", async () => {
  const page = await (await set.open({ viewport: DESK })).newPage();
  const batch = await openDemo(page, "lantern-pale");
  // A tab of its own: what the page before still asks for is not the report's.
  const report = await page.context().newPage();
  const asked = [];
  report.on("request", (request) => asked.push(request.url()));
  await report.goto(new URL(`${batch}/report`, page.url()).href);
  await report.waitForLoadState("networkidle");
  assert.equal(asked.filter((url) => !url.endsWith("/report") && !url.endsWith("/favicon.ico")).length, 0, asked.join(" "));
  assert.ok((await report.locator("svg").count()) > 5);
});
