// Keeps the whole manual on a phone that asked for it. The published page goes first; the saved copy
// answers when there is no signal, and says that it does. A new revision is fetched aside, each file
// checked by its SHA-256, and takes the old one's place whole or not at all.
const root = registration.scope;
const mine = `ks ${root} `;
const wait = 2500;

const open = (name) => caches.open(mine + name);
let known; // read once: a large manual's list is long
const state = async () => (known ||= (await (await (await open("state")).match(root))?.json()) || {});
const set = async (facts) => {
  await (await open("state")).put(root, new Response(JSON.stringify(facts)));
  known = facts;
};
const drop = async (...kept) => {
  for (const name of await caches.keys()) if (name.startsWith(mine) && !kept.includes(name.slice(mine.length))) await caches.delete(name);
};
const get = (path) => fetch(root + path, { cache: "no-store" });
const page = (path) => path.replace(/(^|\/)index\.html$/, "$1");

// Fetches what isn't here yet, of all stations or of those in `only`; what was fetched before a fault
// stays for the next try.
const load = async (report, only) => {
  const { revision, zone, files: shared, stations = {}, groups = [] } = await (await get("saved.json")).json();
  only = groups[0] && only?.filter((id) => stations[id]);
  const names = only?.map((id) => stations[id]);
  const files = Object.assign({}, shared, ...groups.filter(({ of }) => !only || of.some((id) => only.includes(id))).map((group) => group.files));
  const was = await state();
  const part = await open(revision);
  const paths = Object.keys(files);
  const of = paths.length;
  const work = async () => {
    for (let path; (path = paths.pop()); report({ done: of - paths.length, of })) {
      const key = root + page(path);
      if (await part.match(key)) continue;
      const same = was.files?.[path] === files[path] && (await (await open(was.revision)).match(key));
      const answer = same || (await get(page(path)));
      const bytes = await answer.arrayBuffer();
      const sum = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
      if (Array.from(sum, (b) => b.toString(16).padStart(2, "0")).join("").slice(0, 32) !== files[path]) throw Error(`${path}: ${answer.status}, differs from the published file`);
      await part.put(key, new Response(bytes, { headers: { "content-type": answer.headers.get("content-type") } }));
    }
  };
  await Promise.all([work(), work(), work(), work()]);
  await set({ revision, zone, files, only, names, newest: revision, checked: Date.now() });
  await drop(revision, "state");
  const kept = new Set(Object.keys(files).map((path) => new URL(root + page(path)).href));
  for (const { url } of await part.keys()) if (!kept.has(url)) await part.delete(url);
};
// One thing at a time: two would write over each other's state.
let last = Promise.resolve();
const next = (work) => (last = last.catch(() => 0).then(work));

// Asks which revision is published, and fetches it if it is another one.
let asking;
const check = () =>
  (asking ||= next(async () => {
    const was = await state();
    if (!was.revision) return;
    const { revision } = await (await get("revision.json")).json();
    await set({ ...was, newest: revision, checked: Date.now() });
    if (revision !== was.revision) await load(() => 0, was.only);
  }).finally(() => (asking = 0)));

const reported = async (fault) => {
  const { revision, newest, checked, zone, only, names } = await state();
  if (!revision) return { fault };
  const show = (when, what) => new Intl.DateTimeFormat("en-GB", { timeZone: zone, ...what }).format(when);
  const day = { day: "numeric", month: "short" };
  const date = show(checked, day);
  const clock = show(checked, { hour: "2-digit", minute: "2-digit" });
  return { fault, only, names, revision, newest, newer: newest !== revision, short: revision.slice(0, 8), at: date === show(Date.now(), day) ? clock : `${date}, ${clock}` };
};

// The saved file for an address; a page gets the line that says what it is.
const saved = async (path, navigates) => {
  const { revision, short, at, newer, names } = await reported();
  const look = (name) => caches.match(root + name, { cacheName: mine + revision });
  let found = await look(path);
  if (navigates) found ||= await look(`${path}/`);
  const lost = navigates && !found;
  if (lost) found = await look("404.html");
  if (!navigates || !/html/.test(found?.headers.get("content-type"))) return found || Response.error();
  const more = newer ? " <b>A newer revision is published.</b> Go where there is signal and load the page again." : "";
  const line = `<p class="ks-saved" role="status"><b>Saved copy</b> · revision ${short} · checked ${at}.${more}</p>`;
  let text = (await found.text()).replace("<!--saved-->", line);
  // Of a copy of some stations nobody can say which it is.
  if (lost && names) text = text.replace("There is no such page", "This page isn't saved on this phone").replace("It may have been renamed.", "Go where there is signal. It is of a station that wasn't saved, or there is no such page.");
  return new Response(text, { headers: { "content-type": "text/html" } });
};

const answer = async (event) => {
  const { request } = event;
  const path = page(request.url.slice(root.length).replace(/[?#].*/, ""));
  const { revision, files } = await state();
  if (!revision) return fetch(request);
  const [stamp] = new URL(request.url).search.match(/(?<=^\?)[0-9a-f]{10}$/) || [];
  const named = stamp && files[path];
  if (named && named.startsWith(stamp)) {
    const kept = await saved(path); // named by its content: never an old one
    if (kept.ok) return kept;
  }
  const navigates = request.mode === "navigate";
  try {
    const fresh = await Promise.race([fetch(request, { cache: navigates ? "no-store" : "no-cache" }), new Promise((_, late) => setTimeout(late, wait))]);
    if (fresh.status < 500) {
      if (navigates) event.waitUntil(check().catch(() => 0));
      return fresh;
    }
  } catch {}
  // A file of another revision than its page is no help to anybody.
  return named ? Response.error() : saved(path, navigates);
};

addEventListener("install", () => skipWaiting());
addEventListener("activate", (event) => event.waitUntil(clients.claim()));
addEventListener("fetch", (event) => {
  const { method, url } = event.request;
  if (method === "GET" && url.startsWith(root) && !/\/(sw\.js|saved\.json|revision\.json)$/.test(url)) event.respondWith(answer(event));
});
addEventListener("message", (event) => {
  const [port] = event.ports;
  const report = (words) => port.postMessage(words);
  const told = async () => {
    for (const client of await clients.matchAll({ includeUncontrolled: true })) if (client.id !== event.source.id) client.postMessage({ saved: await reported() });
  };
  const remove = async () => {
    known = 0;
    await drop();
  };
  const { data } = event, job = data === "check" ? check() : next(() => (data === "remove" ? remove() : load(report, data.save))).finally(told);
  event.waitUntil(job.then(() => reported(), (fault) => reported(fault.message)).then(report));
});
