// The clocks of all batches, on every page: the next deadline, the way to its step, and the alarm, ten
// minutes before and when it is due. A clock is a time of day, so it runs on while nothing does.
self.ksStrip ||= (() => {
  const { src } = document.currentScript, root = new URL("..", src), store = self.ksStore;
  const MINUTE = 60000, BEFORE = 10 * MINUTE, LONG = 2 * BEFORE;
  const el = (tag, ...children) => {
    const [name, ...cls] = tag.split("."), node = document.createElement(name);
    node.className = cls.join(" ");
    node.append(...children.flat().filter((child) => child || child === 0));
    return node;
  };
  const two = (n) => String(n).padStart(2, "0");
  /** A time of day, with its day where that isn't today. */
  const when = (at) => {
    const day = new Date(at), hour = `${day.getHours()}:${two(day.getMinutes())}`;
    return day.toDateString() === new Date().toDateString() ? hour : `${hour} on ${day.toLocaleDateString("en-GB", { weekday: "short", day: "numeric", month: "short" })}`;
  };
  const left = (ms) => {
    const s = Math.ceil(ms / 1000), m = Math.floor(s / 60);
    return `${m < 60 ? m : `${Math.floor(m / 60)}:${two(m % 60)}`}:${two(s % 60)}`;
  };
  /** What a clock still waits for: each with its time, and whether that is past. */
  const waits = (clock) => (clock.stopped ? [] : clock.due.map((due, i) => ({ ...due, i, ms: Date.parse(due.at) })).filter((due) => !due.reached && !due.seen));
  const LATE = (due) => `${due.words} was due at ${when(due.ms)}. Read the probe now.`;
  const UP = "Time is up. Check the food.";
  /** The words of what a clock waits for. A phone whose clock was set back says so. */
  const words = (clock, due) => {
    const now = Date.now(), law = clock.kind === "deadline";
    if (now < Date.parse(clock.started) - MINUTE) return `${law ? `${due.words} by` : "until"} ${when(due.ms)}. This phone's clock was set back: look at another clock.`;
    if (due.ms <= now) return law ? LATE(due) : UP;
    return law ? `${due.words} by ${when(due.ms)} · ${left(due.ms - now)} left` : `${left(due.ms - now)} left, until ${when(due.ms)}`;
  };
  const named = (batch) => `${batch.name} ${batch.number}`;
  const brief = ({ name, number }) => `${name.length > 22 ? `${name.slice(0, 20).trim()}…` : name} ${number}`;
  const hrefOf = (batch, step) => {
    const at = new URL(batch.page + (root.protocol === "file:" ? "index.html" : ""), root);
    at.searchParams.set("batch", batch.id);
    at.hash = step || "";
    return at.href;
  };

  const alarm = el("p.ks-hide"), told = el("p.ks-told"), list = el("ul"), next = el("a.ks-clock"), more = el("button.ks-button"), box = el("section.ks-running", list, next, more);
  alarm.setAttribute("role", "alert");
  told.setAttribute("role", "alert");
  told.hidden = box.hidden = list.hidden = true;
  box.ariaLabel = "Batches and clocks";
  more.type = "button";
  more.ariaExpanded = "false";
  const around = el("div.ks", told, alarm, box);
  around.className = "ks md-typeset ks-strips";
  document.body.append(around);
  more.onclick = () => {
    list.hidden = !list.hidden;
    more.ariaExpanded = String(!list.hidden);
    tick();
  };
  let hide;
  // What is said goes where it is seen: into what is open, else above the clocks.
  const over = () => [...document.querySelectorAll("dialog[open]")].at(-1);
  const say = (text) => {
    (over() || around).prepend(told);
    told.textContent = text;
    told.hidden = false;
    clearTimeout(hide);
    hide = setTimeout(() => (told.hidden = true), 20000);
  };
  store.onfault(say);

  // What rang in this tab isn't rung again on its next page.
  let rung = [];
  try {
    rung = JSON.parse(sessionStorage.ksRung || "[]");
  } catch {}
  const ring = (key, text) => {
    if (rung.includes(key)) return;
    rung = [...rung.slice(-200), key];
    try {
      sessionStorage.ksRung = JSON.stringify(rung);
    } catch {}
    alarm.textContent = text;
    if (over()) say(text);
    if (navigator.vibrate) navigator.vibrate([600, 200, 600, 200, 600]);
    try {
      const sound = new AudioContext(), tone = sound.createOscillator();
      tone.connect(sound.destination);
      tone.start();
      tone.stop(sound.currentTime + 1.5);
    } catch {}
  };
  const alarms = ({ batch, clock, due }) => {
    const rest = due.ms - Date.now(), key = `${clock.id} ${due.i}`, name = `${named(batch)}, ${clock.name}`, law = clock.kind === "deadline";
    if (rest <= 0) ring(key, `${name}: ${law ? LATE(due) : UP}`);
    else if (rest <= BEFORE && due.ms - Date.parse(clock.started) > LONG) ring(`${key} before`, `${name}: ${law ? `${due.words} by` : "until"} ${when(due.ms)}: ${left(rest)} left`);
  };

  let batches = [], drawn = "";
  const running = () => batches.flatMap((batch) => batch.clocks.flatMap((clock) => waits(clock).map((due) => ({ batch, clock, due })))).sort((a, b) => a.due.ms - b.due.ms);
  const short = ({ batch, clock, due }) => `${clock.name}: ${due.ms <= Date.now() && clock.kind !== "deadline" ? "time is up" : words(clock, due)}${batches[1] ? ` · ${brief(batch)}` : ""}`;
  const tick = () => {
    const all = running(), idle = batches.filter((batch) => !all.some((one) => one.batch === batch));
    all.forEach(alarms);
    const lines = [...all.map((one) => [short(one), hrefOf(one.batch, one.clock.anchor), one.due.ms <= Date.now()]), ...idle.map((batch) => [`${named(batch)}: ${batch.label}, no clock`, hrefOf(batch)])];
    // A page that shows a batch itself needs no line for it.
    box.hidden = !lines[0] || (!all[0] && document.querySelector(".ks-formula"));
    document.documentElement.classList.toggle("ks-runs", !box.hidden);
    if (box.hidden) return;
    const [first, ...rest] = lines, key = JSON.stringify(rest.map((line) => line[1]));
    next.textContent = first[0];
    next.href = first[1];
    next.classList.toggle("ks-up", Boolean(first[2]));
    more.hidden = !rest[0];
    more.textContent = list.hidden ? `+${rest.length}` : "Close";
    more.ariaLabel = list.hidden ? `${rest.length} more` : "";
    if (key !== drawn) list.replaceChildren(...rest.map((line) => el("li", Object.assign(el("a"), { href: line[1] }))));
    drawn = key;
    [...list.children].forEach((li, i) => {
      li.firstChild.textContent = rest[i][0];
      li.firstChild.className = rest[i][2] ? "ks-up" : "";
    });
  };
  const read = async () => {
    batches = await store.all();
    tick();
  };
  store.hear(read);
  addEventListener("pageshow", read);
  document.addEventListener("visibilitychange", () => document.hidden || read());
  setInterval(tick, 1000);
  read();
  return { words, waits, when, named, hrefOf, say, root, read };
})();
