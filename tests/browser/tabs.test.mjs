// Two pages on one batch: edits of different fields are both kept, edits of one
// field are told apart, and anything is brought back.
import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { CHLORINE, bench, edited, field, openDemo, type } from "./lib.mjs";

const CALCIUM = "water.source[1].calcium";
const MAGNESIUM = "water.source[1].magnesium";
const SALT = "water.salt[1].salt";

const set = await bench();
let one;
let two;
let path;
beforeEach(async () => {
  const context = await set.open();
  one = await context.newPage();
  path = await openDemo(one);
  two = await context.newPage();
  await two.goto(path);
});

const document = async () => (await one.request.get(`${path}/document.toml`)).text();
const told = (page, words) => page.waitForFunction((w) => document.querySelector("#beside").textContent === w, words);

test("different fields edited in two tabs are both kept", async () => {
  await edited(one, () => type(one, CALCIUM, "90 mg/L"));
  await edited(two, () => type(two, CHLORINE, "0.4 mg/L"));
  await told(two, "revision 3");
  assert.equal(await field(two, CALCIUM).inputValue(), "90 mg/L", "the other's edit is shown");
  assert.match(await document(), /calcium = "90 mg\/L"/);
  assert.match(await document(), /total_chlorine = "0\.4 mg\/L"/);
});

test("an answer brings the other's value into a field that has the focus and was not touched", async () => {
  await edited(two, () => type(two, MAGNESIUM, "12 mg/L"));
  await told(two, "revision 2");
  await one.reload();
  await edited(one, () => type(one, MAGNESIUM, "13 mg/L"));
  await told(one, "revision 3");
  await edited(two, () => type(two, CALCIUM, "90 mg/L"));
  await told(two, "revision 4");
  assert.equal(await two.evaluate(() => window.document.activeElement.name), MAGNESIUM);
  assert.equal(await field(two, MAGNESIUM).inputValue(), "13 mg/L");
  await edited(two, () => type(two, CHLORINE, "0.4 mg/L"));
  await told(two, "revision 5");
  assert.match(await document(), /magnesium = "13 mg\/L"/);
});

test("a choice that was made here and changed there is not put back", async () => {
  let revision = 1;
  // One that stands before it in the list, and one that stands after it.
  const now = await field(two, SALT).inputValue();
  const words = await field(two, SALT).locator("option").evaluateAll((all) => all.map((o) => o.value));
  const [first, second, third] = words.filter((word) => word !== now);
  for (const [here, there] of [[second, third], [second, first]]) {
    await edited(two, () => field(two, SALT).selectOption(here));
    await told(two, `revision ${revision += 1}`);
    await one.reload();
    await edited(one, () => field(one, SALT).selectOption(there));
    await told(one, `revision ${revision += 1}`);
    await edited(two, () => type(two, CALCIUM, `${80 + revision} mg/L`));
    await told(two, `revision ${revision += 1}`);
    assert.equal(await field(two, SALT).inputValue(), there);
    await edited(two, () => type(two, CHLORINE, `0.${revision} mg/L`));
    await told(two, `revision ${revision += 1}`);
    assert.equal((await document()).match(/salt = "([^"]+)"/)[1], there);
  }
});

test("a fault in one tab does not undo what the other saved", async () => {
  await edited(one, () => type(one, CALCIUM, "90 mg/L"));
  await edited(two, () => type(two, CHLORINE, "plenty"));
  await two.locator(".trouble").waitFor();
  await edited(two, () => type(two, CHLORINE, "0.4 mg/L"));
  await told(two, "revision 3");
  assert.match(await document(), /calcium = "90 mg\/L"/);
});

test("one field edited in both: the second is told, both are kept, either is brought back", async () => {
  await edited(one, () => type(one, CHLORINE, "0.4 mg/L"));
  await edited(two, () => type(two, CHLORINE, "0.9 mg/L"));
  const alert = two.locator('.trouble[role="alert"]');
  await alert.waitFor();
  assert.match(await alert.innerText(), /^Both versions are kept/);
  assert.match(await document(), /total_chlorine = "0\.4 mg\/L"/);

  await alert.locator("a").click();
  await two.waitForURL("**/history");
  const rows = two.locator("tbody tr");
  assert.equal(await rows.count(), 2);
  assert.match(await two.locator("main").innerText(), /written on revision 1/);
  await two.getByRole("button", { name: "make it the newest" }).click();
  await two.waitForURL(`**${path}`);
  assert.equal(await field(two, CHLORINE).inputValue(), "0.9 mg/L");

  await two.goto(`${path}/history/1`);
  const difference = await two.locator(".diff").innerText();
  assert.match(difference, /^− +total_chlorine = "1\.8 ± 0\.3 mg\/L"/m);
  assert.match(difference, /^\+ +total_chlorine = "0\.9 mg\/L"/m);
  await two.getByRole("button", { name: "bring it back" }).click();
  await two.waitForURL(`**${path}`);
  assert.equal(await field(two, CHLORINE).inputValue(), "1.8 ± 0.3 mg/L");
  await two.goto(`${path}/history`);
  assert.equal(await rows.count(), 4, "nothing was overwritten");
});
