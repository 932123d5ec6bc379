// Charts are read by pointer and by key, as a table, and saved as files.
import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { test } from "node:test";
import { STAGES, bench, openDemo } from "./lib.mjs";

const set = await bench();

test("the course tells values with units under the pointer and by arrow keys", async () => {
  const page = await (await set.open()).newPage();
  const path = await openDemo(page);
  await page.goto(`${path}?bench=ferment`);
  const chart = page.locator(".chart[data-rows]").first();
  await chart.scrollIntoViewIfNeeded();
  const box = await chart.boundingBox();
  await page.mouse.move(box.x + box.width * 0.3, box.y + box.height * 0.4);
  const tip = chart.locator(".chart-tip");
  await tip.waitFor();
  const early = await tip.innerText();
  assert.match(early, /\d d\b/);
  assert.match(early, /gravity\s+1\.\d{3} SG/);
  assert.match(early, /temperature\s+\d+\.\d °C/);
  await page.mouse.move(box.x + box.width * 0.7, box.y + box.height * 0.4);
  const late = await tip.innerText();
  assert.ok(day(late) > day(early), `${late} is later than ${early}`);

  await page.mouse.move(2, 2);
  await chart.focus();
  await page.keyboard.press("Home");
  await tip.waitFor();
  const first = await tip.innerText();
  await page.keyboard.press("ArrowRight");
  assert.ok(day(await tip.innerText()) > day(first));
  assert.match(await page.locator(".chart-say").textContent(), /gravity 1\.\d{3} SG; temperature/);
  await page.keyboard.press("ArrowLeft");
  assert.equal(await tip.innerText(), first);
  await page.keyboard.press("Escape");
  assert.ok(await tip.isHidden());
});

test("the figures of a chart open as a table", async () => {
  const page = await (await set.open()).newPage();
  await openDemo(page);
  const figures = page.locator("details.chart-data").first();
  assert.ok(await figures.locator("table").isHidden());
  await figures.locator("summary").focus();
  await page.keyboard.press("Enter");
  await figures.locator("table").waitFor();
  assert.match((await figures.locator("thead th").allInnerTexts()).join(" "), /mEq\/L/);
  assert.ok(await figures.locator("tbody tr").count() > 3);
});

test("a chart still answers after an edit swapped it", async () => {
  const page = await (await set.open()).newPage();
  const path = await openDemo(page);
  await page.goto(`${path}?bench=ferment`);
  await page.locator('[name="yeast.packets"]').fill("3");
  await page.keyboard.press("Tab");
  await page.locator(".moved").waitFor();
  const chart = page.locator(".chart[data-rows]").first();
  await chart.focus();
  await page.keyboard.press("End");
  assert.match(await chart.locator(".chart-tip").innerText(), /gravity\s+1\.\d{3} SG/);
});

test("every chart is saved as a drawing and as figures", async () => {
  const page = await (await set.open({ acceptDownloads: true })).newPage();
  const path = await openDemo(page);
  const seen = new Set();
  for (const stage of STAGES) {
    await page.goto(`${path}?bench=${stage}`);
    for (const link of await page.locator(".save a").all()) {
      const name = (await link.getAttribute("href")).split("/").pop();
      if (seen.has(name)) continue;
      seen.add(name);
      const [download] = await Promise.all([page.waitForEvent("download"), link.click()]);
      assert.equal(download.suggestedFilename(), name);
      const text = await readFile(await download.path(), "utf8");
      if (name.endsWith(".svg")) await isDrawing(page, name, text);
      else isTable(name, text);
    }
  }
  assert.ok([...seen].filter((n) => n.endsWith(".svg")).length >= 6, [...seen].join(" "));
  assert.equal([...seen].filter((n) => n.endsWith(".svg")).length, [...seen].filter((n) => n.endsWith(".csv")).length);
});

const day = (tip) => Number(/(\d+(?:\.\d+)?) d\b/.exec(tip)[1]);

async function isDrawing(page, name, text) {
  const { fault, root, marks } = await page.evaluate((svg) => {
    const read = new DOMParser().parseFromString(svg, "image/svg+xml");
    return {
      fault: read.querySelector("parsererror")?.textContent ?? null,
      root: read.documentElement.localName,
      marks: read.querySelectorAll("path, rect, line, circle, polyline, polygon").length,
    };
  }, text);
  assert.equal(fault, null, name);
  assert.equal(root, "svg", name);
  assert.ok(marks > 3, `${name} draws something`);
}

// RFC 4180: as many fields in every row, lines ended by CR LF.
function isTable(name, text) {
  assert.ok(text.endsWith("\r\n"), name);
  const rows = text.slice(0, -2).split("\r\n").map((line) => line.match(/("([^"]|"")*"|[^",]*)(,|$)/g).filter((f, i, all) => i < all.length - 1 || f !== "" || line.endsWith(",")));
  assert.ok(rows.length > 1, `${name} has rows`);
  for (const row of rows) assert.equal(row.length, rows[0].length, `${name}: ${row}`);
  assert.ok(rows.slice(1).some((row) => row.some((f) => /^-?\d/.test(f))), `${name} has numbers`);
}
