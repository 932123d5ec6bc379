// At the kettle: 360 px wide, with a thumb.
import assert from "node:assert/strict";
import { test } from "node:test";
import { CHLORINE, PHONE, STAGES, bench, edited, keepExamples, openDemo, pagesOf, type } from "./lib.mjs";

const set = await bench({ viewport: PHONE, hasTouch: true, isMobile: true });

test("no page scrolls sideways, and every target is at least 24 px", async () => {
  const page = await (await set.open()).newPage();
  await keepExamples(page);
  await openDemo(page);
  await edited(page, () => type(page, CHLORINE, "0.4 mg/L"));
  const wide = [];
  const small = [];
  for (const address of [...await pagesOf(page), "/nowhere"]) {
    await page.goto(address);
    await page.evaluate(() => document.querySelectorAll("details").forEach((d) => { d.open = true; }));
    const { overflow, targets } = await page.evaluate(measure);
    if (overflow > 0) wide.push(`${address}: ${overflow} px`);
    small.push(...targets.map((t) => `${address}: ${t}`));
  }
  assert.deepEqual(wide, []);
  assert.deepEqual(small, []);
});

test("the stream stands as a list of stages with figures that can be read", async () => {
  const page = await (await set.open()).newPage();
  await openDemo(page);
  const stages = page.locator(".stages > li");
  assert.equal(await stages.count(), STAGES.length);
  let below = 0;
  for (const stage of await stages.all()) {
    const box = await stage.boundingBox();
    assert.ok(box.y >= below - 1, "one below the other");
    below = box.y + box.height;
    assert.ok(box.width > 300);
  }
  const { smallest, cut } = await page.locator(".stages").evaluate((list) => {
    const texts = [...list.querySelectorAll("h2, dt, dd, .sign")];
    return {
      smallest: Math.min(...texts.map((t) => parseFloat(getComputedStyle(t).fontSize))),
      cut: texts.filter((t) => t.scrollWidth > t.clientWidth + 1 && getComputedStyle(t).overflow !== "visible").length,
    };
  });
  assert.ok(smallest >= 14, `${smallest} px`);
  assert.equal(cut, 0);
});

test("a stage is opened and a field changed by touch", async () => {
  const page = await (await set.open()).newPage();
  await openDemo(page);
  await page.locator('.stages a[href$="bench=ferment"]').tap();
  await page.waitForURL("**bench=ferment");
  await page.locator('[name="yeast.packets"]').tap();
  await page.locator('[name="yeast.packets"]').fill("2");
  await page.locator('[name="yeast.age"]').tap();
  await page.locator(".moved").waitFor();
  await page.locator(".chart[data-rows]").first().tap();
  assert.match(await page.locator(".chart-tip").first().innerText(), /gravity/);
});

// Runs in the page. A link in a sentence is as high as its line (2.5.8, "inline").
function measure() {
  const least = 24;
  const inSentence = (a) => getComputedStyle(a).display === "inline"
    && [...a.parentElement.childNodes].some((n) => n.nodeType === Node.TEXT_NODE && n.textContent.trim());
  const targets = [...document.querySelectorAll("a[href], button, input:not([type=hidden]), select, textarea, summary")]
    .filter((t) => t.tabIndex >= 0 && t.checkVisibility() && !t.matches(".skip") && !(t.matches("a") && inSentence(t)))
    .map((t) => [t, t.getBoundingClientRect()])
    .filter(([, box]) => box.width < least - 0.5 || box.height < least - 0.5)
    .map(([t, box]) => `${t.outerHTML.slice(0, 70)} is ${Math.round(box.width)} × ${Math.round(box.height)}`);
  return { overflow: document.documentElement.scrollWidth - document.documentElement.clientWidth, targets };
}
