// The first visit: what this is, three questions, the demo; and the way from there
// to a reckoned stream with the keyboard alone.
import assert from "node:assert/strict";
import { test } from "node:test";
import { STAGES, bench, figure, revision } from "./lib.mjs";

const ALKALINITY = "water.source[1].alkalinity";
const set = await bench();

test("the first page says what it is in two sentences, asks three questions and offers the demo", async () => {
  const page = await (await set.open()).newPage();
  await page.goto("/");
  const words = (await page.locator(".hello p").allInnerTexts()).join(" ");
  assert.equal(words.match(/[.!?](\s|$)/g).length, 2, words);
  const questions = page.locator('form[action="/begin"]');
  assert.deepEqual(
    await questions.locator("label").allInnerTexts(),
    ["Which water?", "What do you want to brew?", "How much?", "What is it called? (may stay empty)"],
  );
  assert.equal(await questions.locator("[required], select").count(), 3, "three have to be answered");
  const demos = page.locator('form[action^="/demo/"] button');
  assert.equal(await demos.count(), 3);
  for (const words of await demos.allInnerTexts()) assert.match(words, /^Open\b/);
});

test("a volume that is none is told at once, and the answers stay", async () => {
  const page = await (await set.open()).newPage();
  await page.goto("/");
  await page.locator("#beer").selectOption("wheat");
  await page.locator("#volume").fill("twenty");
  await page.locator('form[action="/begin"] button').click();
  assert.match(await page.locator('[role="alert"]').innerText(), /twenty/);
  assert.equal(await page.locator("#beer").inputValue(), "wheat");
  assert.equal(await page.locator("#volume").inputValue(), "twenty");
});

test("a batch is begun and changed with the keyboard alone, with the focus in sight", async () => {
  const page = await (await set.open()).newPage();
  await page.goto("/");

  await page.keyboard.press("Tab");
  await seen(page);
  assert.equal(await page.evaluate(() => document.activeElement.innerText), "Skip to the content");
  await tabTo(page, "#tap");
  await page.keyboard.type("hard");
  await tabTo(page, "#beer");
  await page.keyboard.type("a wheat");
  await tabTo(page, "#volume");
  await page.keyboard.press("Control+a");
  await page.keyboard.type("25 L");
  await tabTo(page, "#name");
  await page.keyboard.type("Keys alone");
  await tabTo(page, "button.main");
  await page.keyboard.press("Enter");
  await page.waitForURL("**/batch/*");

  assert.equal(await page.locator("h1").innerText(), "Keys alone");
  assert.equal(await page.locator(".stages > li").count(), STAGES.length);
  for (const stage of STAGES) {
    const shown = page.locator(`.stages a[href$="bench=${stage}"] dd`);
    assert.ok(await shown.count() > 0, `${stage} has figures`);
    for (const value of await shown.allInnerTexts()) assert.match(value, /\S/);
  }

  const entries = await page.locator(".entry").count();
  await tabTo(page, `[name="${ALKALINITY}"]`);
  await page.keyboard.press("Control+a");
  await page.keyboard.type("120 mg/L as CaCO3");
  await page.keyboard.press("Enter");
  await page.locator(".moved").waitFor();
  assert.match(await figure(page, "mash", "pH").innerText(), / → /);
  assert.equal(await revision(page), 2);
  assert.equal(await page.locator(".entry").count(), entries, "Enter saves and takes nothing out");
  assert.equal(await page.evaluate(() => document.activeElement.name), ALKALINITY);

  await tabTo(page, '.stages a[href$="bench=glass"]', "Shift+Tab");
  await page.keyboard.press("Enter");
  await page.waitForURL("**bench=glass");
  assert.equal(await page.locator('section.bench[aria-label="glass bench"]').count(), 1);
});

/** Tabs on to an element; every stop on the way must be in sight. */
async function tabTo(page, selector, key = "Tab") {
  for (let step = 0; step < 120; step += 1) {
    if (await page.evaluate((s) => document.activeElement.matches(s), selector)) return;
    await page.keyboard.press(key);
    await seen(page);
  }
  assert.fail(`Tab does not come to ${selector}`);
}

async function seen(page) {
  const { what, outline, width, inside } = await page.evaluate(() => {
    const at = document.activeElement;
    const style = getComputedStyle(at);
    const box = at.getBoundingClientRect();
    return {
      what: at.outerHTML.slice(0, 90),
      outline: style.outlineStyle,
      width: parseFloat(style.outlineWidth),
      inside: box.width > 0 && box.bottom > 0 && box.top < innerHeight && box.right > 0 && box.left < innerWidth,
    };
  });
  assert.ok(outline !== "none" && width >= 2, `the focus shows on ${what}`);
  assert.ok(inside, `the focus is in the window on ${what}`);
}
