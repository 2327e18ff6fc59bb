// The batches kept on this phone, one store for all tabs: IndexedDB "ks", the batches going and those
// that ended. A change is one transaction, reported done when it is on the disk, so that two tabs never
// lose each other's ticks and an empty battery loses nothing. What can't be kept is said, never hidden.
self.ksStore ||= (() => {
  const GOING = "batches", ENDED = "ended", heard = [], faults = [];
  const tabs = self.BroadcastChannel && new BroadcastChannel("ks");
  let opened, memory, off;
  const say = (words) => faults.forEach((act) => act(words));
  const asked = (request) => new Promise((good, bad) => {
    request.onsuccess = () => good(request.result);
    request.onerror = () => bad(request.error);
  });
  const open = () => (opened ||= new Promise((good, bad) => {
    const ask = indexedDB.open("ks", 1);
    ask.onupgradeneeded = () => [GOING, ENDED].forEach((name) => ask.result.createObjectStore(name, { keyPath: "id" }));
    ask.onerror = () => bad(ask.error);
    ask.onsuccess = () => {
      ask.result.onversionchange = () => ask.result.close();
      ask.result.onclose = () => (opened = undefined);
      good(ask.result);
    };
  }));

  // Where nothing may be kept, the page works on its own memory, and says so.
  const copy = (value) => value && structuredClone(value);
  const held = (map) => ({
    get: async (id) => copy(map.get(id)),
    getAll: async () => [...map.values()].map(copy),
    put: async (batch) => map.set(batch.id, copy(batch)),
    delete: async (id) => map.delete(id),
  });
  const forget = () => {
    memory = { [GOING]: held(new Map()), [ENDED]: held(new Map()) };
    say((off = "This phone can't keep batches. Ticks, clocks and readings are lost when you leave this page."));
  };
  const kept = (store) => ({
    get: (id) => asked(store.get(id)),
    getAll: () => asked(store.getAll()),
    put: (batch) => asked(store.put(batch)),
    delete: (id) => asked(store.delete(id)),
  });
  const run = async (mode, act) => {
    let base;
    if (!memory) {
      try {
        base = await open();
      } catch {
        forget();
      }
    }
    if (memory) return act(memory[GOING], memory[ENDED]);
    const job = base.transaction([GOING, ENDED], mode, { durability: "strict" });
    const whole = new Promise((good, bad) => {
      job.oncomplete = good;
      job.onabort = () => bad(job.error);
    });
    try {
      const answer = await act(kept(job.objectStore(GOING)), kept(job.objectStore(ENDED)));
      await whole;
      return answer;
    } catch (fault) {
      whole.catch(() => {});
      try {
        job.abort();
      } catch {} // over already
      throw fault;
    }
  };
  const tell = () => Promise.all(heard.map((act) => act()));
  if (tabs) tabs.onmessage = tell;
  const write = async (act) => {
    try {
      const answer = await run("readwrite", act);
      if (tabs) tabs.postMessage(0);
      await tell();
      return answer;
    } catch (fault) {
      say(`${fault.name === "QuotaExceededError" ? "This phone is full" : `Fault: ${fault.message}`}. This was not kept. All that was kept before is still there. Free some room, then do it again.`);
      await tell();
    }
  };
  return {
    all: () => run("readonly", (going) => going.getAll()),
    ended: () => run("readonly", (_, ended) => ended.getAll()),
    /** Changes one batch, going or ended, by `act`, which gets it and changes it. Answers the batch as kept. */
    change: (id, act) => write(async (going, ended) => {
      let at = going, batch = await going.get(id);
      if (!batch) [at, batch] = [ended, await ended.get(id)];
      if (!batch) return;
      act(batch);
      await at.put(batch);
      return batch;
    }),
    /** Keeps the batch that `make` makes of those going and those that ended. */
    begin: (make) => write(async (going, ended) => {
      const batch = make([...(await going.getAll()), ...(await ended.getAll())]);
      await going.put(batch);
      return batch;
    }),
    end: (id, act) => write(async (going, ended) => {
      const batch = await going.get(id);
      if (!batch) return;
      act(batch);
      await ended.put(batch);
      await going.delete(id);
      return batch;
    }),
    /** Keeps a batch that came from another phone; `join` makes one of it and of what is kept of it. */
    take: (batch, join) => write(async (going, ended) => {
      const before = (await going.get(batch.id)) || (await ended.get(batch.id)), whole = before ? join(before, batch) : batch;
      await ended.delete(batch.id);
      await (whole.ended ? ended : going).put(whole);
      if (whole.ended) await going.delete(batch.id);
      return whole;
    }),
    remove: (id) => write((going, ended) => ended.delete(id)),
    hear: (act) => heard.push(act),
    onfault: (act) => (faults.push(act), off && act(off)),
  };
})();
