// One thing a screen, for wet hands: a weight or a step, and a big Next that ticks it. A swipe or a tap at
// the edge only looks. Nothing is unticked by going back. And the page's limits, each a tap away.
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
    if (home) home.place.replaceWith(home.node);
    home = undefined;
  };
  const step = ({ step: node }) => {
    const body = one(".ks-step-body", node), place = document.createComment("");
    body.replaceWith(place);
    home = { place, node: body };
    return [el("h2", `${text(".ks-step-no", node)} ${text("h3", node)}`), el("p.ks-second", one(".ks-machine", node) ? one(".ks-machine", node).innerText : ""), body];
  };
  const done = () => items.filter((item) => item.tick.checked).length;
  const draw = () => {
    putBack();
    const item = items[at];
    count.textContent = `${at + 1} of ${items.length}, ${done()} ticked`;
    inside.replaceChildren(...(item.row ? weight(item) : step(item)));
    inside.scrollTop = 0;
    back.disabled = !at;
    next.textContent = item.tick.checked ? (at + 1 < items.length ? "Ticked: next" : "Ticked: to the list") : at + 1 < items.length ? "Done: next" : "Done: to the list";
  };
  const go = (to) => {
    if (to < 0 || to >= items.length) return;
    at = to;
    draw();
  };
  const count = el("span"), list = button("List", () => close()), back = button("Back", () => go(at - 1)), next = button("", async () => {
    const { tick } = items[at];
    if (!tick.checked) {
      await hands().then((h) => h.tick(bench.keyOf(tick.id), true));
      if (!tick.checked) return draw(); // it wasn't kept: it is said, and stays
    }
    if (at + 1 < items.length) go(at + 1);
    else close();
  }, "ks-button.ks-go");
  count.setAttribute("role", "status");
  head.append(count, list);
  foot.append(back, next);

  let from;
  inside.addEventListener("pointerdown", (event) => (from = event.target.closest("button, a, summary, input") ? undefined : event));
  inside.addEventListener("pointerup", (event) => {
    if (!from) return;
    const across = event.clientX - from.clientX, along = Math.abs(event.clientY - from.clientY), edge = innerWidth / 8;
    if (Math.abs(across) > 60 && Math.abs(across) > 2 * along) go(at + (across < 0 ? 1 : -1));
    else if (Math.abs(across) < 10 && along < 10 && (from.clientX < edge || from.clientX > innerWidth - edge)) go(at + (from.clientX < edge ? -1 : 1));
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
      draw();
      dialog.showModal();
      next.focus();
    },
    limits() {
      const found = all(".ks-limit").map((box) => {
        const at = box.closest(".ks-step"), name = at ? `${text(".ks-step-no", at)} ${text("h3", at)}` : "Store";
        const figures = [...box.querySelectorAll(".ks-fig")].map((fig) => fig.textContent.trim().replace(/\s+/g, " ")), hold = text(".ks-hold", box);
        const link = Object.assign(el("a.ks-button", el("b", name), " ", [...figures, hold && `hold ${hold}`].filter(Boolean).join(" · ") || text(".ks-rule", box)), { href: `#${at ? at.id : "store"}` });
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
