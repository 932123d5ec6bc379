// Without scripts a form posts and comes back.
import assert from "node:assert/strict";
import { test } from "node:test";
import { CHLORINE, bench, field, figure, openDemo, revision } from "./lib.mjs";

const set = await bench({ javaScriptEnabled: false });

test("an edit is made by the Reckon button", async () => {
  const page = await (await set.open()).newPage();
  const path = await openDemo(page);
  await field(page, CHLORINE).fill("0.4 mg/L");
  await page.getByRole("button", { name: "Reckon", exact: true }).click();
  await page.waitForURL(`**${path}?bench=water`);
  assert.equal(await field(page, CHLORINE).inputValue(), "0.4 mg/L");
  assert.match(await figure(page, "water", "chlorine left").innerText(), /^0\.\d+ mg\/L/);
  assert.equal(await revision(page), 2);
});

test("Enter saves, and takes nothing out", async () => {
  const page = await (await set.open()).newPage();
  await openDemo(page);
  const entries = await page.locator(".entry").count();
  await field(page, CHLORINE).fill("0.4 mg/L");
  await field(page, CHLORINE).press("Enter");
  await page.waitForURL("**?bench=water");
  assert.equal(await page.locator(".entry").count(), entries);
  assert.equal(await field(page, CHLORINE).inputValue(), "0.4 mg/L");
});

test("a fault is told on a whole page with what was typed, and mended there", async () => {
  const page = await (await set.open()).newPage();
  await openDemo(page);
  await field(page, CHLORINE).fill("1.8 galz");
  await page.getByRole("button", { name: "Reckon", exact: true }).click();
  assert.match(await page.locator(".trouble").innerText(), /Not saved yet/);
  assert.equal(await field(page, CHLORINE).inputValue(), "1.8 galz");
  assert.match(await page.locator(".fault").innerText(), /galz/);
  await field(page, CHLORINE).fill("0.4 mg/L");
  await page.getByRole("button", { name: "Reckon", exact: true }).click();
  await page.waitForURL("**?bench=water");
  assert.equal(await revision(page), 2);
});

test("a hop is added and taken out, and the units are switched", async () => {
  const page = await (await set.open()).newPage();
  const path = await openDemo(page);
  await page.goto(`${path}?bench=boil`);
  const takeOut = page.getByRole("button", { name: /^take out hop/ });
  const hops = await takeOut.count();
  await page.getByRole("button", { name: "Add a hop" }).click();
  assert.equal(await takeOut.count(), hops + 1);
  await takeOut.last().click();
  assert.equal(await takeOut.count(), hops);
  await page.getByRole("button", { name: "show US units" }).click();
  assert.match(await figure(page, "mash", "kettle full").innerText(), / gal$/);
  assert.match(page.url(), /bench=boil$/);
});
