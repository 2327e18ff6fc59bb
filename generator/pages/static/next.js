// One thing a screen, for wet hands: a weight or a step, and a big Next that ticks it. A step that is longer
// than the screen comes in parts, ticked at its last. A swipe or a tap at the edge only looks. Nothing is
// unticked by going back. And the page's limits, each a tap away.
self.ksNext = (bench, hands) => {
  const { page, all, one, el, button } = bench;
  const dialog = el("dialog.ks-one"), head = el("div.ks-one-head"), inside = el("div.ks-one-in"), foot = el("div.ks-one-foot");
  dialog.ariaLabel = "One at a time";
  dialog.append(head, inside, foot);
  page.append(dialog);

  // What there is, in the order of the page: the rows of the size shown, then the steps.
  const rows = () => all(`${bench.shown()} .ks-tick`).map((tick) => ({ tick, row: tick.parentElement }));
  const steps = () => all(".ks-step").map((step) => ({ tick: one(".ks-tick", step), step }));
  let items = [], at = 0, home, woke;
  const text = (selector, root) => (one(selector, root) ? ksSaid(one(selector, root)).trim() : "");
  const weight = ({ row }) => {
    const load = row.closest(".ks-load"), n = load && load.parentElement.querySelectorAll(".ks-load").length, l = load && [...load.parentElement.querySelectorAll(".ks-load")].indexOf(load) + 1;
    const on = one(".ks-on", row), scale = (one("b", on) || on).textContent;
    return [el("p.ks-second", [n > 1 && `Load ${l} of ${n}`, text("h3", row.closest(".ks-part")), scale].filter(Boolean).join(" · ")), el("h2", text(".ks-name", row)),
      el("p.ks-one-figure", text(".ks-num", row)), el("p", text(".ks-note", row)), ...all(".ks-remark", row).map((remark) => remark.cloneNode(true))];
  };
  // A step is shown itself, with its warnings, its limit and its clocks, and goes back where it was.
  const putBack = () => {
    whole();
    named.replaceChildren(count);
    if (home) home.place.replaceWith(home.node);
    home = undefined;
  };
  const step = ({ step: node }) => {
    const body = one(".ks-step-body", node), place = document.createComment("");
    body.replaceWith(place);
    home = { place, node: body };
    named.append(el("h2", `${text(".ks-step-no", node)} ${text("h3", node)}`), count);
    return [el("p.ks-second", one(".ks-machine", node) ? one(".ks-machine", node).innerText : ""), body];
  };
  const figuresOf = (box) => {
    const figures = [...box.querySelectorAll(".ks-fig")].map((fig) => fig.textContent.trim().replace(/\s+/g, " ")), hold = text(".ks-hold", box);
    return [...figures, hold && `hold ${hold}`].filter(Boolean).join(" · ") || text(".ks-rule", box);
  };
  // The parts of a step: what to do, then its limits, as many as fit under the head; one alone is never cut.
  // How long it likely takes is left to the list where it alone would be too much.
  let parts = [[]], part = 0, left;
  const NOT = "ks-not-now", then = el("p.ks-then"), high = () => inside.scrollHeight > inside.clientHeight;
  const whole = () => [left, ...parts.flat()].forEach((block) => block && block.classList.remove(NOT));
  const fit = () => {
    parts = [[]];
    const body = one(".ks-step-body", inside);
    left = body && one(".ks-step-why", body);
    if (!body || !high()) return;
    if (left) left.classList.add(NOT);
    if (!high()) return;
    const top = (node) => node.getBoundingClientRect().top, room = inside.clientHeight - (top(body) - top(inside)) - 30; // a line says what follows
    [one(".ks-step-text", body), ...all(".ks-limit, .ks-not-covered", body)].forEach((block) => {
      const first = parts.at(-1)[0];
      if (!first || block.getBoundingClientRect().bottom - top(first) <= room) parts.at(-1).push(block);
      else parts.push([block]);
    });
  };
  const cut = () => {
    then.remove();
    if (!parts[1]) return;
    whole();
    if (left) left.classList.toggle(NOT, Boolean(parts[part + 1]));
    parts.forEach((blocks, i) => i !== part && blocks.forEach((block) => block.classList.add(NOT)));
    const next = parts[part + 1], boxes = next ? parts.slice(part + 1).flat().filter((block) => block.matches(".ks-limit")) : [];
    if (boxes[0]) then.replaceChildren("Limit: ", boxes.map(figuresOf).join(" · ")), inside.append(then);
    inside.scrollTop = 0;
  };
  const done = () => items.filter((item) => item.tick.checked).length;
  const draw = (last) => {
    putBack();
    const item = items[at];
    count.textContent = `${at + 1} of ${items.length}, ${done()} ticked`;
    inside.replaceChildren(...(item.row ? weight(item) : step(item)));
    inside.scrollTop = 0;
    fit();
    part = last ? parts.length - 1 : 0;
    shown();
  };
  const shown = () => {
    const { tick } = items[at];
    cut();
    back.disabled = !at && !part;
    next.textContent = part + 1 < parts.length ? `More: ${part + 2} of ${parts.length}` : tick.checked ? (at + 1 < items.length ? "Ticked: next" : "Ticked: to the list") : at + 1 < items.length ? "Done: next" : "Done: to the list";
  };
  /** One on, or one back: a part of the step, or another thing. */
  const go = (by) => {
    if (parts[part + by]) return (part += by), shown();
    if (!items[at + by]) return;
    at += by;
    draw(by < 0);
  };
  const count = el("span"), named = el("div"), list = button("List", () => close()), back = button("Back", () => go(-1)), next = button("", async () => {
    const { tick } = items[at];
    if (parts[part + 1]) return go(1);
    if (!tick.checked) {
      await hands().then((h) => h.tick(bench.keyOf(tick.id), true));
      if (!tick.checked) return draw(true); // it wasn't kept: it is said, and stays
    }
    if (at + 1 < items.length) go(1);
    else close();
  }, "ks-button.ks-go");
  count.setAttribute("role", "status");
  head.append(named, list);
  foot.append(back, next);

  let from;
  inside.addEventListener("pointerdown", (event) => (from = event.target.closest("button, a, summary, input") ? undefined : event));
  inside.addEventListener("pointerup", (event) => {
    if (!from) return;
    const across = event.clientX - from.clientX, along = Math.abs(event.clientY - from.clientY), edge = innerWidth / 8;
    if (Math.abs(across) > 60 && Math.abs(across) > 2 * along) go(across < 0 ? 1 : -1);
    else if (Math.abs(across) < 10 && along < 10 && (from.clientX < edge || from.clientX > innerWidth - edge)) go(from.clientX < edge ? -1 : 1);
    from = undefined;
  });
  // The phone's own Back closes it, and nothing else.
  let open = false;
  const shut = () => {
    if (!open) return;
    open = false;
    putBack();
    dialog.close();
    if (woke) bench.wake.click();
    const { row, step: node } = items[at], pick = row && row.closest(".ks-load") && one(`.ks-lpick-${row.closest(".ks-load").className.split("-").pop()}`, row.closest(".ks-size"));
    if (pick) pick.checked = true;
    // After the browser has put back where the page was.
    setTimeout(() => (row || node).scrollIntoView({ block: row ? "center" : "start" }), 100);
  };
  const close = () => history.back();
  addEventListener("popstate", shut);
  dialog.oncancel = (event) => {
    event.preventDefault();
    close();
  };
  addEventListener("beforeprint", () => open && (putBack(), draw()));

  const limits = el("dialog.ks-sheet");
  limits.ariaLabel = "Limits";
  page.append(limits);
  return {
    async open() {
      items = [...rows(), ...steps()];
      const first = items.findIndex((item) => !item.tick.checked);
      at = Math.max(0, first);
      open = true;
      history.pushState({}, "");
      woke = bench.wake && bench.wake.ariaPressed !== "true";
      if (woke) bench.wake.click();
      dialog.showModal();
      draw(); // what is seen has a height
      next.focus();
    },
    limits() {
      const found = all(".ks-limit").map((box) => {
        const at = box.closest(".ks-step"), name = at ? `${text(".ks-step-no", at)} ${text("h3", at)}` : "Store";
        const link = Object.assign(el("a.ks-button", el("b", name), " ", figuresOf(box)), { href: `#${at ? at.id : "store"}` });
        // To the box itself, whole on the screen: its figure, what to do, and its keys.
        link.onclick = () => {
          limits.close();
          if (at) at.classList.toggle("ks-again-open", one(".ks-tick", at).checked);
          setTimeout(() => box.scrollIntoView({ block: "end" }), 50); // after the address has moved the page
        };
        return el("li", link);
      });
      limits.replaceChildren(el("h2", "Limits"), el("ul.ks-plain", found), button("Close", () => limits.close()));
      limits.showModal();
    },
  };
};
