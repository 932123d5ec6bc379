// A shared server: two people, two groups, one batch that is shared.
import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import { test } from "node:test";
import { PHONE, bench, cutOff, openDemo, violations } from "./lib.mjs";

const set = await bench({}, ["--shared"]);
const PASSWORD = "ladle copper tide eleven";

/** Makes a group on the command line; gives the path of its keeper's invitation. */
function begin(name) {
  const begun = spawnSync(process.env.GYLE, ["people", "begin", name, "--store", set.server.store], { encoding: "utf8" });
  assert.equal(begun.status, 0, begun.stderr);
  return /\/invitation\/[0-9a-f]{64}/.exec(begun.stdout)[0];
}

/** Makes an account by an invitation. */
async function enter(page, invitation, name, shown) {
  await page.goto(invitation);
  await page.getByLabel("Name to sign in with").fill(name);
  await page.getByLabel("How people call you").fill(shown);
  await page.getByLabel("Password", { exact: true }).fill(PASSWORD);
  await page.getByLabel("The same again").fill(PASSWORD);
  await page.getByRole("button", { name: "Make the account" }).click();
  await page.waitForURL((url) => url.pathname === "/");
}

test("nobody is in without an invitation, and a group is begun, joined and shared with", async () => {
  const first = await (await set.open()).newPage();
  await first.goto("/waters");
  assert.equal(new URL(first.url()).pathname, "/sign-in");
  assert.equal(await first.locator("nav.all").count(), 0);
  await enter(first, begin("Weir club"), "ann", "Ann of the weir");
  assert.match(await first.locator("nav.who").innerText(), /group Weir club\s+Ann of the weir/);

  // A batch of the club, and an invitation to brew with it.
  const batch = await openDemo(first);
  await first.goto("/group");
  await first.getByLabel("As one who").selectOption("brew");
  await first.getByRole("button", { name: "Make an invitation" }).click();
  const invitation = await first.locator("a.secret").getAttribute("href");
  const whole = await first.locator("a.secret").innerText();
  assert.equal(whole, new URL(invitation, first.url()).href, "the address can be sent as it stands");

  const second = await (await set.open({ viewport: PHONE, hasTouch: true, isMobile: true })).newPage();
  await enter(second, invitation, "bob", "Bob");
  await second.goto(batch);
  assert.equal(await cutOff(second), false);
  await second.goto("/group");
  assert.match(await second.locator("main").innerText(), /may brew/);
  assert.equal(await second.getByRole("button", { name: "Make an invitation" }).count(), 0);
  assert.equal(await second.getByRole("button", { name: "Take out" }).count(), 0);

  // A keeper reads what leaves and says the word for the group; the others see how it stands.
  const study = (page) => page.getByRole("region", { name: "The study over the batches of many" });
  assert.equal(await study(second).getByRole("button").count(), 0);
  assert.match(await study(second).innerText(), /0 of 1 batches of this group go in[^]*A keeper/);
  await first.goto("/group");
  assert.match(await study(first).innerText(), /What leaves\s+A gathering takes one row/);
  await study(first).getByRole("button", { name: "Agree for every batch" }).click();
  await study(first).getByText("1 of 1 batches of this group go in.").waitFor();
  assert.equal(new URL(first.url()).pathname, "/group");
  await second.goto("/group");
  assert.match(await study(second).innerText(), /1 of 1 batches/);
  await study(first).getByRole("button", { name: "Withdraw every batch" }).click();
  await study(first).getByText("0 of 1 batches of this group go in.").waitFor();
  await first.goto("/group/audit");
  assert.match(await first.locator("table").innerText(), /withdraw from the study[^]*agree to the study/);
  assert.equal((await second.goto("/group/audit")).status(), 403);
  // It works once.
  const third = await (await set.open()).newPage();
  assert.equal((await third.goto(invitation)).status(), 404);

  // Another club sees nothing, until the batch is shared by its code.
  await enter(third, begin("Towpath club"), "cat", "Cat");
  assert.equal((await third.goto(batch)).status(), 404);
  await third.goto("/group");
  const code = await third.locator("code.secret").innerText();
  await first.goto(batch.replace("/batch/", "/share/"));
  await first.getByLabel("Or by the code of a group").fill(code);
  await first.getByRole("button", { name: "Share", exact: true }).click();
  await first.getByText("Towpath club may look at it.").waitFor();
  assert.equal((await third.goto(batch)).status(), 200);
  await third.goto("/");
  assert.equal(await third.locator(`a[href="${batch}"]`).count() > 0, true);
  await first.getByRole("button", { name: "end the share with Towpath club" }).click();
  await first.getByText("may look at it.").waitFor({ state: "detached" });
  assert.equal((await third.goto(batch)).status(), 404);

  // The own group has its own shelf; the switch stands on the page of the group.
  await second.goto("/group");
  await second.getByRole("button", { name: "look at Bob" }).click();
  await second.waitForURL((url) => url.pathname === "/");
  assert.match(await second.locator("nav.who").innerText(), /group Bob/);
  assert.equal((await second.goto(batch)).status(), 404);

  // Who is in finds the way back after signing out.
  await first.goto("/you");
  await first.getByRole("button", { name: "Sign out", exact: true }).click();
  await first.waitForURL("**/sign-in");
  await first.goto(batch);
  await first.getByLabel("Name").fill("ann");
  await first.getByLabel("Password").fill("not the right password");
  await first.getByRole("button", { name: "Sign in" }).click();
  await first.getByRole("alert").waitFor();
  await first.getByLabel("Password").fill(PASSWORD);
  await first.getByRole("button", { name: "Sign in" }).click();
  await first.waitForURL(`**${batch}`);
  await first.goto("/group/audit");
  assert.match(await first.locator("table").innerText(), /Ann|ann/);
});

test("the pages of people hold to the rules, in light and dark and on a phone", async () => {
  const page = await (await set.open({ bypassCSP: true })).newPage();
  await enter(page, begin("Lock club"), "dan", "Dan");
  const batch = await openDemo(page);
  const wrong = [];
  for (const address of ["/group", "/group/audit", "/you", batch.replace("/batch/", "/share/")]) {
    for (const size of [{ width: 1280, height: 900 }, PHONE]) {
      await page.setViewportSize(size);
      await page.goto(address);
      wrong.push(...await violations(page, { unfolded: true }));
      if (await cutOff(page)) wrong.push(`${address} is cut off at ${size.width} px`);
    }
  }
  await page.context().clearCookies();
  for (const address of ["/sign-in", begin("Mill club")]) {
    await page.setViewportSize(PHONE);
    await page.goto(address);
    wrong.push(...await violations(page));
    if (await cutOff(page)) wrong.push(`${address} is cut off`);
  }
  assert.deepEqual(wrong, []);
});
