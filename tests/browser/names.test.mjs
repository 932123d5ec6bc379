// A name that looks like markup is text on every page.
import assert from "node:assert/strict";
import { test } from "node:test";
import { bench, edited, keepExamples, pagesOf, type } from "./lib.mjs";

const set = await bench();
const NAME = `<img src=x onerror=alert(1)>"'`;

test("a batch named like markup shows its name as text everywhere", async () => {
  const page = await (await set.open()).newPage();
  const alarms = [];
  page.on("dialog", async (dialog) => { alarms.push(dialog.message()); await dialog.dismiss(); });
  await keepExamples(page);
  await page.goto("/");
  await page.locator("#name").fill(NAME);
  await page.locator('form[action="/begin"] button').click();
  await page.waitForURL("**/batch/*");
  const path = new URL(page.url()).pathname;
  assert.equal(await page.locator("h1").innerText(), NAME);

  await page.goto(`${path}?bench=mash`);
  await edited(page, () => type(page, "batch.name", `${NAME} again`));
  await page.waitForFunction((name) => document.querySelector("h1").textContent === name, `${NAME} again`);
  await edited(page, () => type(page, "grist[1].amount", "4 <img src=x onerror=alert(1)>"));
  await page.locator(".fault").waitFor();
  assert.ok((await page.locator(".fault").innerText()).includes("<img"), "the fault quotes it");
  await page.evaluate(() => sessionStorage.clear());

  for (const shelf of ["/waters", "/brewhouses", "/stores"]) {
    await page.goto(shelf);
    await page.locator("#name").fill(NAME);
    await page.getByRole("button", { name: "Add", exact: true }).click();
    await page.waitForURL(`**${shelf}/*`);
    assert.equal(await page.locator("h1").innerText(), NAME);
  }

  const pages = await pagesOf(page);
  let shown = 0;
  for (const address of pages) {
    await page.goto(address);
    assert.equal(await page.locator("img, [onerror]").count(), 0, address);
    if ((await page.locator("body").innerText()).includes("<img src=x")
      || (await page.locator("textarea").first().inputValue({ timeout: 100 }).catch(() => "")).includes("<img src=x")) shown += 1;
  }
  for (const part of ["/sheet", "/text", "/history", "/history/1", ""]) {
    assert.ok(pages.some((p) => p.split("?")[0] === path + part), `${part} was among the pages`);
  }
  assert.ok(shown >= 10, `the name shows on ${shown} of ${pages.length} pages`);
  assert.deepEqual(alarms, []);
});
