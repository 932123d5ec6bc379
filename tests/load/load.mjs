// Many people and many sensors at once: two servers on one PostgreSQL, on loopback.
//
//   GYLE=target/release/gyle node tests/load/load.mjs [--people 200] [--sensors 500]
//       [--minutes 10] [--faults] [--jobs 20]
//
// People sign in and edit by the form of the page, each their own batch; sensors send a
// reading at a time by their tokens. With --faults servers, the worker and PostgreSQL
// are killed on the way and begun again. At the end the tables are asked for every
// write that was acknowledged, and the trial fails where one is missing or different.
import { readFileSync } from "node:fs";
import { Agent, request } from "node:http";
import { setTimeout as pause } from "node:timers/promises";
import { parseArgs } from "node:util";
import { cpus } from "node:os";
import { Gyle, Postgres, once } from "./ground.mjs";
import { join } from "./people.mjs";

const { values: asked } = parseArgs({ options: {
  people: { type: "string", default: "200" },
  sensors: { type: "string", default: "500" },
  minutes: { type: "string", default: "10" },
  jobs: { type: "string", default: "20" },
  faults: { type: "boolean", default: false },
} });
const PEOPLE = Number(asked.people);
const SENSORS = Number(asked.sensors);
const JOBS = Number(asked.jobs);
const LASTS = Number(asked.minutes) * 60_000;
/** Between two edits of one person, and two readings of one sensor: on the average. */
const THINKS = 5_000;
const SENDS = 10_000;
const FIELD = "water.source[1].total_chlorine";
const DOCUMENT = readFileSync(new URL("../../examples/lantern-pale.toml", import.meta.url), "utf8");

const agent = new Agent({ keepAlive: true, maxSockets: 2_000 });
const servers = [new Gyle("serve", "--shared", "--no-work"), new Gyle("serve", "--shared", "--no-work")];
const took = { edit: [], page: [], reading: [] };
const met = { refused: 0, retried: 0 };
const edits = [];
const readings = [];
let over = false;

/** One request to one of the servers; throws where no answer comes. */
function call(which, method, path, { headers = {}, body } = {}) {
  return new Promise((resolve, reject) => {
    const options = { agent, host: "127.0.0.1", port: servers[which].port, method, path, headers, timeout: 35_000 };
    const sent = request(options, (answer) => {
      const parts = [];
      answer.on("data", (part) => parts.push(part));
      answer.on("error", reject);
      answer.on("end", () => resolve({ status: answer.statusCode, headers: answer.headers, text: Buffer.concat(parts).toString() }));
    });
    sent.on("timeout", () => sent.destroy(new Error("no answer")));
    sent.on("error", reject);
    sent.end(body);
  });
}

/** Asks until an answer comes that is no trouble of the server; tells whether the first came. */
async function persist(which, kind, ask) {
  for (let tries = 0; ; tries += 1) {
    const began = performance.now();
    try {
      const answer = await ask((which + tries) % 2);
      if (answer.status < 500 && answer.status !== 429) {
        if (tries === 0) took[kind].push(performance.now() - began);
        return answer;
      }
    } catch { /* The server is away: try the other one. */ }
    met.retried += 1;
    if (tries > 300) throw new Error("no server answers any more");
    await pause(200);
  }
}

const near = (mean) => mean * (0.5 + Math.random());
const form = (fields) => new URLSearchParams(fields).toString();

async function edit(person, index, turn) {
  const written = `${(1 + (turn % 900) / 1000).toFixed(3)} mg/L`;
  const body = form({ on: String(person.on), [FIELD]: written });
  const headers = { ...person.headers, "content-type": "application/x-www-form-urlencoded", "hx-request": "true" };
  const path = `/batch/${person.batch}/edit?bench=water`;
  const answer = await persist(index, "edit", (which) => call(which, "POST", path, { headers: { ...headers, origin: `http://127.0.0.1:${servers[which].port}` }, body }));
  const on = Number(/name="on" value="(\d+)"/.exec(answer.text)?.[1]);
  if (answer.status === 200 && on > person.on) {
    edits.push([person.batch, on, written]);
    person.on = on;
    return;
  }
  met.refused += 1;
  person.on = await newest(person, index);
}

/** The revision that the page shows now. */
async function newest(person, index) {
  const answer = await persist(index, "page", (which) => call(which, "GET", `/batch/${person.batch}?bench=water`, { headers: person.headers }));
  const on = Number(/name="on" value="(\d+)"/.exec(answer.text)?.[1]);
  if (!on) throw new Error(`the page of a batch answers ${answer.status}: ${answer.text.slice(0, 300)}`);
  return on;
}

async function work(person, index) {
  await pause(Math.random() * THINKS);
  for (let turn = index; !over; turn += 1) {
    await edit(person, index, turn);
    if (turn % 10 === 0) person.on = await newest(person, index);
    await pause(near(THINKS));
  }
}

async function sense(device, index, began) {
  await pause(Math.random() * SENDS);
  for (let turn = 0; !over; turn += 1) {
    // In milliseconds that no other sensor of the same batch has.
    const at = began + turn * 60_000 + index;
    const body = JSON.stringify([{ n: `probe-${index}`, u: "Cel", v: 19 + (turn % 40) / 10, t: at / 1000 }]);
    const headers = { "content-type": "application/senml+json", authorization: `Bearer ${device.token}` };
    const answer = await persist(index, "reading", (which) => call(which, "POST", "/api/readings", { headers, body }));
    if (answer.status !== 200) throw new Error(`a reading is answered ${answer.status}: ${answer.text}`);
    readings.push(`${device.batch} ${at}`);
    await pause(near(SENDS));
  }
}

/** Asks for costly work, spread over the time of the trial. */
async function order(people, made) {
  for (let i = 0; i < JOBS && !over; i += 1) {
    const person = people[i % people.length];
    const body = JSON.stringify({ kind: "certainty", document: DOCUMENT, draws: 4_096, points: 0, seed: i + 1 });
    const answer = await persist(i, "page", (which) => call(which, "POST", "/api/jobs", { headers: { ...person.headers, origin: `http://127.0.0.1:${servers[which].port}`, "content-type": "application/json" }, body }));
    if (![200, 201, 202].includes(answer.status)) throw new Error(`a job is answered ${answer.status}: ${answer.text}`);
    made.push({ id: JSON.parse(answer.text).id, person });
    await pause(LASTS / (JOBS + 1));
  }
}

async function faults(postgres, workers) {
  const step = LASTS / 6;
  const tell = (what) => console.log(`${((performance.now() - start) / 1000).toFixed(0)} s: ${what}`);
  for (const [what, away, back] of [
    ["the first server is killed", () => servers[0].kill(), () => servers[0].begin()],
    ["the worker is killed", () => workers[0].kill(), () => workers[0].begin()],
    ["PostgreSQL is killed", () => postgres.crash(), () => postgres.begin()],
    ["the second server is killed", () => servers[1].kill(), () => servers[1].begin()],
  ]) {
    await pause(step);
    tell(what);
    await away();
    await pause(Math.min(5_000, step / 2));
    await back();
    tell("it is back");
  }
}

/** Every acknowledged write against the tables; what is missing or different. */
function missing(postgres) {
  const kept = new Map();
  const texts = String.raw`SELECT document_id, number, substring(text from 'total_chlorine = "([^"]*)"') FROM revision`;
  for (const row of postgres.query(texts).split("\n")) {
    const [batch, number, written] = row.split("|");
    kept.set(`${batch} ${number}`, written);
  }
  const lost = edits.filter(([batch, on, written]) => kept.get(`${batch} ${on}`) !== written);
  const taken = "SELECT c.document_id || ' ' || r.taken_at_ms FROM reading r JOIN channel c ON c.id = r.channel_id";
  const there = new Set(postgres.query(taken).split("\n"));
  return [...lost.map(String), ...readings.filter((reading) => !there.has(reading))];
}

async function settled(made) {
  const unsettled = [];
  for (const { id, person } of made) {
    let state = "";
    for (let tries = 0; tries < 1_200; tries += 1) {
      const answer = await persist(0, "page", (which) => call(which, "GET", `/api/jobs/${id}`, { headers: person.headers }));
      state = JSON.parse(answer.text).state;
      if (["done", "failed", "cancelled"].includes(state)) break;
      await pause(250);
    }
    if (state !== "done") unsettled.push(`job ${id} is ${state}`);
  }
  return unsettled;
}

function row(name, times) {
  const sorted = times.sort((a, b) => a - b);
  const at = (share) => (sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))] ?? NaN).toFixed(1);
  return `| ${name} | ${sorted.length} | ${at(0.5)} | ${at(0.95)} | ${at(0.99)} | ${at(1)} |`;
}

const postgres = await Postgres.start();
process.env.GYLEWRIGHT_STORE = postgres.place;
const workers = [new Gyle("work"), new Gyle("work")];
for (const process of [...servers, ...workers]) await process.begin();
console.log(`${PEOPLE} people and ${SENSORS} sensors for ${asked.minutes} minutes, on ${cpus().length} processors`);
const people = await join(PEOPLE, servers, call, DOCUMENT);
const devices = people.flatMap((person, i) => {
  const share = Math.floor(SENSORS / PEOPLE) + (i < SENSORS % PEOPLE ? 1 : 0);
  return Array.from({ length: share }, () => person.batch);
}).map((batch, i) => ({ batch, token: /shown this once:\s+(\S+)/.exec(once(["device", "add", "--batch", batch, `probe ${i}`]))[1] }));
console.log("all have signed in");

const start = performance.now();
const made = [];
const began = Date.UTC(2026, 0, 1);
const under = [
  ...people.map((person, i) => work(person, i)),
  ...devices.map((device, i) => sense(device, i, began)),
  order(people, made),
  ...(asked.faults ? [faults(postgres, workers)] : []),
];
const ends = pause(LASTS).then(() => { over = true; });
await Promise.all([ends, ...under]);
const trouble = [...missing(postgres), ...await settled(made)];

console.log(`
| what | answers | median ms | 95 % | 99 % | longest |
|---|---|---|---|---|---|
${row("an edit", took.edit)}
${row("a page", took.page)}
${row("a reading", took.reading)}

${edits.length} edits and ${readings.length} readings were acknowledged, ${made.length} jobs asked for; ${met.refused} edits were refused, ${met.retried} requests had to be sent again.`);
for (const one of trouble.slice(0, 20)) console.log(`MISSING: ${one}`);
for (const process of [...servers, ...workers]) await process.stop();
await postgres.stop();
console.log(trouble.length === 0 ? "Nothing was lost." : `${trouble.length} are missing.`);
process.exit(trouble.length === 0 ? 0 : 1);
