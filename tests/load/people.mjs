// People come to a shared server: a keeper for every five, who invites the others; each
// begins a batch of their own.
import { randomBytes } from "node:crypto";
import { once } from "./ground.mjs";

const OF_A_GROUP = 5;

/** The token of an invitation that stands in a text. */
const invitation = (text) => /\/invitation\/([\w.~-]+)/.exec(text)[1];

/**
 * So many people, signed in: the headers of each and the batch that is theirs.
 * `call(server, method, path, { headers, body })` asks a server.
 */
export async function join(count, servers, call, document) {
  const from = (which) => ({ origin: `http://127.0.0.1:${servers[which].port}` });
  const form = { "content-type": "application/x-www-form-urlencoded" };
  const expect = (answer, status, what) => {
    if (answer.status !== status) throw new Error(`${what} is answered ${answer.status}: ${answer.text.slice(0, 500)}`);
    return answer;
  };
  const enter = async (which, token, name) => {
    const password = randomBytes(15).toString("base64url");
    const body = new URLSearchParams({ name, shown: name, password, again: password }).toString();
    const headers = { ...form, ...from(which) };
    const answer = expect(await call(which, "POST", `/invitation/${token}`, { headers, body }), 303, "coming in");
    return { cookie: answer.headers["set-cookie"][0].split(";")[0] };
  };
  const people = [];
  while (people.length < count) {
    const which = people.length % 2;
    const group = people.length / OF_A_GROUP;
    const keeper = await enter(which, invitation(once(["people", "begin", `Club ${group}`])), `keeper-${group}`);
    const members = [keeper];
    while (members.length < OF_A_GROUP && people.length + members.length < count) {
      const headers = { ...keeper, ...form, ...from(which) };
      const page = expect(await call(which, "POST", "/group/invite", { headers, body: "role=brew" }), 200, "inviting");
      members.push(await enter(which, invitation(page.text), `brewer-${group}-${members.length}`));
    }
    for (const headers of members) {
      const more = { ...headers, ...from(which), "content-type": "application/toml" };
      const made = expect(await call(which, "POST", "/api/batches", { headers: more, body: document }), 201, "beginning a batch");
      people.push({ headers, batch: JSON.parse(made.text).id, on: 1 });
    }
  }
  return people;
}
