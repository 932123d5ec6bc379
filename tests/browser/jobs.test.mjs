// Work that takes long: the page shows how far it is and swaps in what was found; it can be
// cancelled and begun again; without scripts too.
import assert from "node:assert/strict";
import { spawn } from "node:child_process";
import { test } from "node:test";
import { bench, openDemo, violations } from "./lib.mjs";

// The server leaves the work to others, so that nothing is done before the test says so.
const set = await bench({ bypassCSP: true }, ["--no-work"]);

async function asked(options) {
  const page = await (await set.open(options)).newPage();
  const batch = await openDemo(page, "lantern-pale");
  await page.goto(`${batch}/match`);
  await page.locator('[name="bitterness"]').fill("23 ± 2 IBU");
  await page.getByRole("button", { name: "Find recipes" }).click();
  await page.waitForURL("**/match?**");
  return { page, batch };
}

/** A worker, until nothing waits any more. */
const work = () => new Promise((resolve, reject) => {
  const at = spawn(process.env.GYLE, ["work", "--until-empty", "--store", set.server.store], { stdio: "ignore" });
  at.once("error", reject);
  at.once("exit", (code) => (code === 0 ? resolve() : reject(new Error(`gyle work ended with ${code}`))));
});

test("how far it is stands on the page, and what was found takes its place", async () => {
  const { page } = await asked({});
  const card = page.locator("#job");
  assert.match(await card.innerText(), /Working on it/);
  assert.equal(await card.locator("progress").count(), 1);
  assert.deepEqual(await violations(page), []);
  await card.getByText(/waits for a worker/).waitFor();
  assert.equal(await page.locator('[name="bitterness"]').inputValue(), "23 ± 2 IBU");
  const [, at] = await Promise.all([work(), page.locator('[data-part="answer"]').innerText()]);
  assert.match(at, /The recipe: the nearest to the aim/);
  assert.equal(await page.locator("#job").count(), 0);
  // The address holds the question: its answer is there at once.
  await page.reload();
  assert.match(await page.locator('[data-part="answer"]').innerText(), /The recipe/);
});

for (const [how, options] of [["", {}], [" without scripts", { javaScriptEnabled: false }]]) {
  test(`it is cancelled and begun again${how}`, async () => {
    const { page } = await asked(options);
    const before = page.url();
    await page.locator("#job").getByRole("button", { name: "Cancel" }).click();
    await page.getByText("It was cancelled").waitFor();
    // No page asks for it anew by itself.
    await page.reload();
    await page.getByText("It was cancelled").waitFor();
    await page.getByRole("button", { name: "Begin again" }).click();
    await page.getByText("Working on it").waitFor();
    assert.equal(new URL(page.url()).pathname, new URL(before).pathname);
    await work();
    await page.locator('[data-part="answer"]').waitFor();
    assert.equal(await page.locator("#job").count(), 0);
  });
}
