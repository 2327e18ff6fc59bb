// The frame round every page: dark or bright, the menu, where one is, the way to the search, and the
// copy of the manual saved on this phone. Without it every page still reads whole.
(() => {
  const { root, dataset } = self.ksPage, html = document.documentElement;
  const one = (selector) => document.querySelector(selector);
  const file = root.protocol === "file:";

  let { look } = html.dataset; // as somebody chose it: start.js
  const turn = () => {
    look = (look || (matchMedia("(prefers-color-scheme: dark)").matches ? "dark" : "")) === "dark" ? "bright" : "dark";
    html.dataset.look = look;
    try {
      localStorage.ksLook = look;
    } catch {}
  };

  const add = (tag, more) => document.head.append(Object.assign(document.createElement(tag), more));
  // The search comes when it is asked for: an engine, the words, and what shows them.
  const load = (path) => new Promise((onload, onerror) => add("script", { src: new URL(path, root), async: false, onload, onerror }));
  const find = () =>
    Promise.all(self.ksFind ? [] : dataset.find.split(" ").map((path) => load(path === "assets/index.js" && published ? `${path}?r=${published}` : path))).then(
      () => self.ksFind(root, file ? "index.html" : ""),
      () => (location = one("#ks-find").href)
    );

  // From what is open a link goes on in its place in the history: Back leads to where it was opened.
  const leave = (self.ksLeave = (event, opened = true) => {
    const a = event.target.closest("a[href]");
    if (!opened || !a || event.defaultPrevented || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    location.replace(a.href);
  });

  // Back closes what is open: what opens says how it closes, and closes by going back.
  const layers = [];
  self.ksOpen = (close) => {
    layers.push(close);
    history.pushState(history.state, "");
  };
  addEventListener("popstate", () => layers.pop()?.());
  // Batches kept on this phone: their clocks are on every page. Asking makes no empty store.
  const batches = () => {
    try {
      const ask = indexedDB.open("ks");
      ask.onupgradeneeded = () => ask.transaction.abort();
      ask.onerror = (event) => event.preventDefault();
      ask.onsuccess = () => {
        ask.result.close();
        const scripts = (self.ksScripts ||= {});
        for (const name of ["store.js", "strip.js"]) scripts[name] ||= load(`assets/${name}`);
      };
    } catch {}
  };

  const start = () => {
    batches();
    const on = (selector, act) =>
      one(selector).addEventListener("click", (event) => {
        event.preventDefault();
        act();
      });
    on("#ks-look", turn);
    on("#ks-find", find);

    // The menu is a link to the navigation; with a script it opens in place.
    const nav = one("#ks-nav");
    const menu = (open) => {
      nav.classList.toggle("ks-open", open);
      one("#main").inert = one(".md-header").inert = open;
      one(open ? "#ks-nav a" : "#ks-menu").focus();
    };
    on("#ks-menu", () => (menu(true), self.ksOpen(() => menu(false))));
    on(".ks-close", () => history.back());
    on(".ks-veil", () => history.back());
    nav.onkeydown = ({ key }) => key === "Escape" && history.back();
    nav.addEventListener("click", (event) => leave(event, layers[0]));

    // Where one is: the page's name in the header, the line of "On this page".
    const lines = [...document.querySelectorAll(".md-nav--secondary a")];
    const mark = () => {
      one(".md-header__title").classList.toggle("md-header__title--active", scrollY > 60);
      const past = lines.filter((a) => document.getElementById(decodeURIComponent(a.hash.slice(1)))?.getBoundingClientRect().top < 120);
      lines.forEach((a) => a.classList.toggle("md-nav__link--active", a === past.at(-1)));
    };
    addEventListener("scroll", mark, { passive: true });
    mark();

    // From a folder no server finds a folder's page.
    if (file) for (const a of document.links) if (a.pathname.endsWith("/")) a.pathname += "index.html";
    phone(on);
    if (!file && dataset.watch !== undefined) watch();
  };

  // A page left open learns that another revision was published, and keeps saying so.
  let published;
  const watch = () => {
    const ask = async () => {
      try {
        const { revision } = await (await fetch(new URL("revision.json", root), { cache: "no-store" })).json();
        published ||= revision;
        if (revision !== published) one(".ks-changed").hidden = false;
      } catch {} // no signal: asked again
    };
    ask();
    document.addEventListener("visibilitychange", () => document.hidden || ask());
    setInterval(ask, 3e5);
  };

  // The copy on this phone: kept by sw.js, asked for and reported here. The words stand in the page.
  const phone = async (on) => {
    const box = one(".ks-phone");
    one(".ks-quick")?.after(box); // near the top, where a script can offer it
    const say = (name, facts = {}) => {
      if (!box) return;
      box.hidden = false;
      for (const line of box.querySelectorAll("[data-say]")) line.hidden = !line.dataset.say.split(" ").includes(name);
      for (const key in facts) for (const place of box.querySelectorAll(`.ks-is-${key}`)) place.textContent = facts[key];
    };
    if (file) return say("file");
    add("link", { rel: "manifest", href: new URL("manifest.webmanifest", root) });
    const workers = navigator.serviceWorker;
    if (dataset.save === undefined) return;
    if (!workers) return say("insecure");
    const ask = async (what) => {
      const { active } = await workers.ready;
      return new Promise((good) => {
        const channel = new MessageChannel();
        channel.port1.onmessage = ({ data }) => {
          if (data.of) return say("saving", data);
          channel.port1.close(); // after a fault, files still under way report nothing more
          good(data);
        };
        active.postMessage(what, [channel.port2]);
      });
    };
    // A large manual is saved by station: all of them are ticked until somebody picks.
    const which = one(".ks-which"), ticks = which ? [...which.querySelectorAll("[value]")] : [];
    const picked = () => (ticks.every((tick) => tick.checked) ? undefined : ticks.filter((tick) => tick.checked).map((tick) => tick.value));
    const weigh = () => {
      const only = picked(), groups = which.dataset.kb.split(" ").map((group) => group.split(":"));
      const kb = groups.reduce((sum, [size, of]) => sum + (!of || !only || of.split(",").some((id) => only.includes(id)) ? +size : 0), 0);
      one("#ks-save").textContent = `Save this manual on this phone (${kb} kB)`;
    };
    if (which) which.onchange = weigh;
    const report = (state) => {
      const name = state.newer ? "newer" : state.revision ? "saved" : "offer", some = { saved: "part", newer: "newer-part" };
      say(state.fault ? "fault" : (state.names && some[name]) || name, { ...state, list: state.names?.join(", ") || "none" });
      if (!which || !state.revision || state.fault) return;
      for (const tick of ticks) tick.checked = !state.only || state.only.includes(tick.value);
      weigh();
    };
    workers.onmessage = ({ data }) => data.saved && report(data.saved); // another page saved or removed it
    if (box) {
      on("#ks-save", async () => {
        const only = picked();
        say("saving", { done: 0, of: "…" });
        try {
          await workers.register(new URL("sw.js", root), { updateViaCache: "none" });
          navigator.storage?.persist?.();
          report(await ask({ save: only }));
        } catch (error) {
          report({ fault: error.message });
        }
      });
      on("#ks-remove", async () => report(await ask("remove")));
    }
    if (!(await workers.getRegistration(root))?.active) return report({});
    const check = async () => report({ ...(await ask("check")), fault: 0 });
    document.onvisibilitychange = () => document.hidden || check();
    check();
  };

  start();
})();
