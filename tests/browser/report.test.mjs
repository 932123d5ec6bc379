// From a pasted report to a weighed-out plan.
import assert from "node:assert/strict";
import { test } from "node:test";
import { bench } from "./lib.mjs";

const set = await bench();

// Place, supplier and figures are invented.
const REPORT = `Wellmere water, lower zone (invented)
Sampled 2026-09-14
Calcium (Ca): 96 ± 4 mg/L
Magnesium 11 mg/L
Sodium 18 mg/L
Potassium 2 mg/L
Alkalinity 205 mg/L
Sulfate 62 mg/L
Chloride 38 mg/L
Nitrate 14 mg/L
pH 7.4
Total chlorine 1.1 mg/L
Glimmer 12 furlongs
We wish you a pleasant summer.
`;

const read = (page) => page.getByRole("button", { name: "Read it", exact: true }).click();

test("from a pasted report to a weighed-out plan in under two minutes", async () => {
  const page = await (await set.open()).newPage();
  const begun = Date.now();
  await page.goto("/");
  await page.getByRole("button", { name: "Start", exact: true }).click();
  await page.waitForURL(/\/batch\//);
  await page.goto("/waters/read");
  await page.getByLabel("Paste the report").fill(REPORT);
  await read(page);
  await page.getByLabel(/^Line 7:/).selectOption("CaCO3");
  await page.getByRole("button", { name: "Read it with these answers" }).click();
  await page.getByText("The ions add up").first().waitFor();
  await page.getByLabel("What the water is called").fill("Wellmere");
  await page.getByRole("button", { name: "Use it in this batch" }).click();
  await page.waitForURL(/\/batch\/.*bench=water/);
  assert.equal(await page.locator('[name="water.source[1].name"]').inputValue(), "Wellmere");
  assert.equal(await page.locator('[name="water.source[1].calcium"]').inputValue(), "96 ± 4.0 mg/L");
  const id = new URL(page.url()).pathname;
  assert.match(await page.locator("#main").innerText(), /sulfite/i, "the dose that takes the chlorine out");
  await page.goto(`${id}/sheet`);
  assert.match(await page.locator("#main").innerText(), /\d+(\.\d+)? m?g/, "what to weigh stands on the sheet");
  assert.ok(Date.now() - begun < 120_000, "under two minutes");
});

test("a report is kept as a water, with its day and where it came from", async () => {
  const page = await (await set.open()).newPage();
  await page.goto("/waters");
  await page.getByRole("link", { name: /read a report/i }).click();
  await page.getByLabel("Paste the report").fill(REPORT);
  await read(page);
  assert.match(await page.locator(".lines").innerText(), /not understood/);
  await page.getByLabel("What the water is called").fill("<b>Wellmere</b>");
  // Alkalinity is still open, so it is asked where the water is kept.
  await page.getByRole("button", { name: "Keep the water" }).click();
  await page.locator(".trouble[role=alert]").waitFor();
  assert.equal(await page.getByLabel("Paste the report").inputValue(), REPORT);
  assert.equal(await page.getByLabel("What the water is called").inputValue(), "<b>Wellmere</b>");
  await page.getByLabel("Alkalinity", { exact: true }).fill("230 ± 10 mg/L as CaCO3");
  await page.getByRole("button", { name: "Keep the water" }).click();
  await page.waitForURL(/\/waters\/(?!read)/);
  const said = await page.locator("#main").innerText();
  assert.match(said, /2026-09-14/);
  assert.match(said, /from a report read on/);
  assert.equal(await page.locator("#title").innerText(), "<b>Wellmere</b>");
});

test("nothing, a picture and a file are told apart, without scripts too", async () => {
  const page = await (await set.open({ javaScriptEnabled: false })).newPage();
  await page.goto("/waters/read");
  await read(page);
  await page.locator("#text-fault").waitFor();
  await page.getByLabel(/choose a file/).setInputFiles({ name: "report.pdf", mimeType: "application/pdf", buffer: Buffer.from("%PDF-1.7 \0") });
  await read(page);
  assert.match(await page.locator("#file-fault").innerText(), /no plain text/);
  const csv = "Parameter;Wert;Einheit\nCalcium;96,5;mg/l\nMagnesium;11;mg/l\n";
  await page.getByLabel(/choose a file/).setInputFiles({ name: "report.csv", mimeType: "text/csv", buffer: Buffer.from(csv) });
  await read(page);
  assert.match(await page.locator(".lines").innerText(), /calcium 96\.5 mg\/L/);
});
