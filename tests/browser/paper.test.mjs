// The brew-day sheet on paper.
import assert from "node:assert/strict";
import { test } from "node:test";
import { bench, openDemo } from "./lib.mjs";

const set = await bench();

test("the sheet prints the readings with room to write, and nothing of the screen", async () => {
  const page = await (await set.open({ colorScheme: "dark" })).newPage();
  const path = await openDemo(page);
  await page.goto(`${path}/sheet`);
  await page.emulateMedia({ media: "print" });
  for (const screen of ["header.top nav", "footer", ".no-print", "form", "button"]) {
    for (const part of await page.locator(screen).all()) assert.ok(await part.isHidden(), `${screen} stays on the screen`);
  }
  const readings = page.locator("tr").filter({ hasText: "original gravity" });
  assert.ok(await readings.isVisible());
  assert.match(await readings.innerText(), /1\.0\d{2}/);
  assert.ok(await page.locator(".write").count() > 15);
  const room = await page.locator(".write").first().boundingBox();
  assert.ok(room.width >= 60 && room.height >= 10, "room to write");
  const paper = await page.evaluate(() => [getComputedStyle(document.body).backgroundColor, getComputedStyle(document.body).color]);
  assert.deepEqual(paper, ["rgb(255, 255, 255)", "rgb(0, 0, 0)"], "black on white, whatever the screen is");

  const pdf = (await page.pdf({ format: "A4", tagged: true, printBackground: true })).toString("latin1");
  assert.match(pdf, /^%PDF-1\./);
  const marks = (kind) => pdf.match(new RegExp(`/S /${kind}\\b`, "g"))?.length ?? 0;
  assert.ok(marks("Table") >= 6, "the tables are in it");
  assert.ok(marks("TD") > 30, "with their cells");
  assert.equal(marks("Link"), 0, "no navigation");
  const sheets = pdf.match(/\/Type \/Page\b/g).length;
  assert.ok(sheets >= 1 && sheets <= 5, `${sheets} pages`);
});
