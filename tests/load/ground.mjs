// A PostgreSQL server, servers and workers of gylewright on it, all on loopback, for
// the trials under load.
import { spawn, spawnSync } from "node:child_process";
import { existsSync, readdirSync, rmSync } from "node:fs";
import { createServer } from "node:net";
import { join } from "node:path";
import { createInterface } from "node:readline";
import { setTimeout as pause } from "node:timers/promises";

const running = new Set();
const folders = new Set();
process.once("exit", () => {
  for (const child of running) child.kill("SIGKILL");
  for (const folder of folders) rmSync(folder, { recursive: true, force: true });
});
for (const signal of ["SIGINT", "SIGTERM"]) process.once(signal, () => process.exit(130));

export function binary() {
  const path = process.env.GYLE;
  if (!path || !existsSync(path)) {
    throw new Error("set GYLE to the path of the gyle binary (cargo build --release -p gyle)");
  }
  return path;
}

const isRoot = process.getuid() === 0;
/** `initdb` refuses to run as root, so root runs it as the user of the server's package. */
const asServerUser = (words) => (isRoot ? ["runuser", "-u", "postgres", "--", ...words] : words);

function said(words, options = {}) {
  const done = spawnSync(words[0], words.slice(1), { encoding: "utf8", cwd: "/", ...options });
  if (done.status !== 0) throw new Error(`${words.join(" ")}: ${done.stderr || done.error}`);
  return done.stdout.trim();
}

async function freePort() {
  return new Promise((resolve) => {
    const taken = createServer().listen(0, "127.0.0.1", () => {
      const { port } = taken.address();
      taken.close(() => resolve(port));
    });
  });
}

/** A PostgreSQL server with the settings of its package, in a folder of its own. */
export class Postgres {
  #programs; #folder; #port; #process;

  static async start() {
    const server = new Postgres();
    const root = "/usr/lib/postgresql";
    const version = readdirSync(root).sort((a, b) => Number(b) - Number(a))[0];
    server.#programs = join(root, version, "bin");
    server.#folder = said(asServerUser(["mktemp", "-d", "-t", "gylewright-load-XXXXXXXX"]));
    folders.add(server.#folder);
    const words = [
      join(server.#programs, "initdb"), "-D", join(server.#folder, "data"), "-U", "gyle",
      "-E", "UTF8", "--locale=C.UTF-8", "--auth=trust",
    ];
    said(asServerUser(words));
    server.#port = await freePort();
    await server.begin();
    said([join(server.#programs, "createdb"), "-h", "127.0.0.1", "-p", String(server.#port), "-U", "gyle", "gylewright"]);
    return server;
  }

  get place() { return `postgres://gyle@127.0.0.1:${this.#port}/gylewright`; }

  async begin() {
    const words = [
      join(this.#programs, "postgres"), "-D", join(this.#folder, "data"), "-p", String(this.#port),
      "-k", this.#folder, "-c", "listen_addresses=127.0.0.1",
    ];
    const all = asServerUser(words);
    this.#process = spawn(all[0], all.slice(1), { stdio: "ignore", cwd: "/" });
    running.add(this.#process);
    for (let tries = 0; tries < 600; tries += 1) {
      const ready = spawnSync(join(this.#programs, "pg_isready"), ["-h", "127.0.0.1", "-p", String(this.#port)]);
      if (ready.status === 0) return;
      await pause(50);
    }
    throw new Error("PostgreSQL does not answer");
  }

  async #stop(how) {
    const words = [join(this.#programs, "pg_ctl"), "-D", join(this.#folder, "data"), "stop", "-w", "-m", how];
    said(asServerUser(words));
    running.delete(this.#process);
  }

  /** Ends it without letting it put anything in order. */
  async crash() { await this.#stop("immediate"); }

  async stop() { await this.#stop("fast"); }

  query(sql) {
    const words = ["-h", "127.0.0.1", "-p", String(this.#port), "-U", "gyle", "-d", "gylewright", "-At", "-c", sql];
    return said([join(this.#programs, "psql"), ...words], { maxBuffer: 1 << 28 });
  }
}

/** A command that ends by itself; what it printed. */
export function once(words) {
  return said([binary(), ...words]);
}

/** A process of gylewright that can be killed and begun again at the same address. */
export class Gyle {
  #words; #process; #port = 0; complaints = "";

  constructor(...words) { this.#words = words; }

  get port() { return this.#port; }

  async begin() {
    const serves = this.#words[0] === "serve";
    const words = serves ? [...this.#words, "--no-browser", "--port", String(this.#port)] : this.#words;
    const started = spawn(binary(), words, { stdio: ["ignore", "pipe", "pipe"] });
    this.#process = started;
    running.add(started);
    started.once("exit", () => running.delete(started));
    started.stderr.on("data", (text) => { this.complaints = (this.complaints + text).slice(-4000); });
    if (!serves) return this;
    this.#port = await new Promise((resolve, reject) => {
      createInterface({ input: started.stdout }).on("line", (line) => {
        const found = /http:\/\/127\.0\.0\.1:(\d+)\//.exec(line);
        if (found) resolve(Number(found[1]));
      });
      started.on("exit", (code) => reject(new Error(`${words.join(" ")} ended with ${code}: ${this.complaints}`)));
    });
    return this;
  }

  async end(signal) {
    const ended = this.#process;
    if (ended.exitCode !== null || ended.signalCode !== null) return;
    await new Promise((resolve) => { ended.once("exit", resolve); ended.kill(signal); });
  }

  kill() { return this.end("SIGKILL"); }

  stop() { return this.end("SIGTERM"); }
}
