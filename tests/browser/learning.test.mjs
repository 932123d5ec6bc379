// What the batches taught: a constant with its trace, taken into the plan and out again, a
// batch left out; on a desk and on a phone, with wrong input.
import assert from "node:assert/strict";
import { test } from "node:test";
import { DESK, bench, cutOff, openDemo, violations } from "./lib.mjs";

const WIDTHS = [["on a desk", DESK], ["at 390 px", { width: 390, height: 844 }]];

const set = await bench({ bypassCSP: true });

/** Two further brewings of the demo, with a brew day that was read. */
async function brewed(page) {
  await openDemo(page, "lantern-pale");
  const id = new URL(page.url()).pathname.split("/").at(-1);
  const { text } = await (await page.request.get(`/api/batches/${id}`)).json();
  for (const [name, litres] of [["First brewing", "24.4"], ["Second brewing", "24.7"]]) {
    const read = `\n[[brew_day.reading]]\nat = "kettle full"\nvolume = "27.6 ± 0.2 L"\nvolume_at = "90 °C"\ngravity = "1.0425"\n`
      + `\n[[brew_day.reading]]\nat = "end of boil"\nvolume = "${litres} ± 0.2 L"\nvolume_at = "95 °C"\n`;
    const data = text.replace(/^name = "Lantern.*"$/m, `name = "${name}"`) + read;
    const made = await page.request.post("/api/batches", { data, headers: { "content-type": "application/toml" } });
    assert.equal(made.status(), 201, await made.text());
  }
  return id;
}

for (const [where, viewport] of WIDTHS) {
  test(`a plan takes what the batches taught and gives it back ${where}`, async () => {
    const page = await (await set.open({ viewport })).newPage();
    const id = await brewed(page);
    await page.goto(`/batch/${id}`);
    await page.getByRole("link", { name: "what batches taught" }).click();
    await page.getByRole("heading", { name: "Steam of the boil" }).waitFor({ timeout: 60_000 });
    assert.equal(await cutOff(page), false, "nothing is cut off at the side");
    assert.deepEqual(await violations(page), []);
    await page.getByRole("button", { name: "Take into the plan" }).click();
    await page.getByText("The plan has all of it.").waitFor();
    const reckoned = await (await page.request.get(`/api/batches/${id}`)).json();
    assert.match(reckoned.text, /\[\[learning\.taken\]\]/);
    await page.getByRole("button", { name: "Take out again" }).click();
    await page.getByRole("button", { name: "Take into the plan" }).waitFor();
    const saved = await page.request.get(await page.locator('a[href*="/evaporation.csv"]').getAttribute("href"));
    assert.match(await saved.text(), /the house/);
  });

  test(`a batch is left out with a reason, and a wrong half-life is told where it stands ${where}`, async () => {
    const page = await (await set.open({ viewport })).newPage();
    const id = await brewed(page);
    await page.goto(`/batch/${id}/learned`);
    await page.getByText("Leave it out").first().click();
    await page.locator('button[aria-label^="Leave"]').first().click();
    await page.getByText("Say why, such as").waitFor();
    await page.locator('input[name="why"]').first().fill("the tap leaked");
    await page.locator('button[aria-label^="Leave"]').first().click();
    await page.getByText("Left out: the tap leaked").waitFor();
    await page.locator('button[aria-label^="Count"]').first().click();
    await page.getByText("Left out: the tap leaked").waitFor({ state: "detached" });
    await page.locator("#half_life").fill("many");
    await page.getByRole("button", { name: "Learn again" }).click();
    assert.equal(await page.locator("#half_life").inputValue(), "many");
    await page.getByText("write a number of batches from 0.1 to 10000").waitFor();
    await page.locator("#half_life").fill("8");
    await page.getByRole("button", { name: "Learn again" }).click();
    await page.getByText("forgotten by and by").waitFor();
    await page.locator("#half_life").fill("18 months");
    await page.getByRole("button", { name: "Keep with this batch" }).click();
    await page.getByText("Kept with this batch: 18 months.").waitFor();
    await page.goto(`/batch/${id}/learned`);
    assert.equal(await page.locator("#half_life").inputValue(), "18 months");
    assert.deepEqual(await violations(page), []);
  });
}
