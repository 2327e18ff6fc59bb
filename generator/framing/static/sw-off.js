// The end of saved copies: published in place of sw.js, it deletes what phones saved and goes itself.
const drop = async () => {
  for (const name of await caches.keys()) if (name.startsWith(`ks ${registration.scope} `)) await caches.delete(name);
};
const end = async () => {
  await clients.claim(); // the worker before it gets no more to do
  await drop();
  await registration.unregister();
  for (const client of await clients.matchAll({ type: "window" })) await client.navigate(client.url).catch(() => 0);
  await drop(); // what the worker before it was still at
};
addEventListener("install", () => skipWaiting());
addEventListener("activate", (event) => event.waitUntil(end()));
