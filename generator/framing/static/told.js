// The page in another language. The words of the frame come as messages with places for figures and
// names (reference/words.py has the same rules); a figure is copied as it stands. What isn't the frame's
// stays as the kitchen wrote it, and is marked with its language.
self.ksTold = ({ messages, own, joins, same }, chosen, home) => {
  const figure = /(?:\d{1,2} (?:Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)\b(?: \d{4})?|(?:[±−+]|(?<![\p{L}\p{N}_])-)?\d+(?:[.,:/–-]\d+)*(?:\([A-Za-z0-9]{1,4}\))*(?: ?[½¼¾⅓⅔⅛⅜⅝⅞])?|[½¼¾⅓⅔⅛⅜⅝⅞])/gu;
  const place = /\{(\w*)\}/g;
  const edge = /^([\s·.,;:()“”?!/→←–−×=+*-]*)(.*?)([\s·.,;:()“”?!/→←–−×=+*-]*)$/s;
  const separators = [/ · /g, /(?<=[.?!]) /g, /; /g, / - /g, /: /g, / \(/g, /, /g, / and /g, / or /g];
  const html = document.documentElement;
  for (const of of [messages, own, joins]) Object.setPrototypeOf(of, null); // "constructor" is a word like any other
  for (const name of self.ksNames) own[name] ??= "";
  const has = (of, key) => Object.hasOwn(of, key), safe = (text) => text.replace(/[.*+?^${}()|[\]\\/]/g, "\\$&");
  const patterns = Object.keys(messages).filter((m) => m.match(place)).map((message) => {
    const pieces = message.split(place), names = pieces.filter((_, i) => i % 2);
    const plain = pieces.filter((_, i) => i % 2 === 0), literal = plain.reduce((a, b) => (b.length > a.length ? b : a));
    const text = pieces.map((piece, i) => (i % 2 ? (piece ? "(.+?)" : `(${figure.source})`) : safe(piece))).join("");
    return { message, names, literal, size: plain.join("").length, text };
  }).sort((a, b) => b.size - a.size || (a.message < b.message ? -1 : 1));
  const filled = (message, figures, texts) => {
    let next = 0;
    return message.replace(place, (_, name) => {
      if (has(texts, name)) return texts[name];
      const value = name ? figures[name - 1] : figures[next++];
      return value.replace(/\b[A-Z][a-z]{2}\b/g, (month) => joins[month] || month);
    });
  };
  const known = new Map(), made = new Set(), busy = new Set();
  const neutral = (text) => text.replace(figure, " ").split(/[\s()/·,;:.×÷=%+\-–−±]+/).every((word) => same.includes(word) || !/\p{L}/u.test(word));
  const exact = (text) => {
    const key = text.replace(figure, "{}");
    return has(messages, key) ? filled(messages[key], text.match(figure) || [], {}) : undefined;
  };
  const ways = [
    (text) => own[text.toLowerCase()] || undefined,
    exact,
    (text) => {
      for (const p of patterns) {
        if (!text.includes(p.literal)) continue;
        const match = text.match((p.expression ||= RegExp(`^${p.text}$`, "u")));
        if (!match) continue;
        const figures = [], texts = {};
        if (p.names.every((name, i) => (name ? (texts[name] = said(match[i + 1])) !== undefined : figures.push(match[i + 1])))) return filled(messages[p.message], figures, texts);
      }
    },
    (text) => (has(own, text.toLowerCase()) ? text : undefined),
    (text) => {
      const small = text[0] === text[0].toLowerCase(), turned = (word, up) => word[0][up ? "toUpperCase" : "toLowerCase"]() + word.slice(1);
      const other = turned(text, small), found = other === text ? undefined : exact(other);
      return found && turned(found, !small);
    },
    (text) => {
      const [, before, inner, after] = text.match(edge);
      const found = (before || after) && inner ? said(inner) : undefined;
      return found === undefined ? found : before + found + after;
    },
    (text) => {
      for (const separator of separators) for (const match of text.matchAll(separator)) {
        const [sign] = match, first = text.slice(0, match.index), rest = text.slice(match.index + sign.length);
        if (!first.trim() || !rest.trim()) continue;
        const one = said(first), two = one === undefined ? one : said(rest);
        if (two !== undefined) return one + (joins[sign + two.slice(0, 1).toLowerCase()] || joins[sign] || sign) + two;
      }
    },
  ];
  const said = (raw) => {
    const text = raw.replace(/\s+/g, " ").trim();
    if (made.has(text)) return text;
    if (!known.has(text)) {
      if (busy.has(text)) return;
      busy.add(text);
      let found = neutral(text) ? text : undefined;
      for (const way of ways) if ((found ??= way(text)) !== undefined) break;
      busy.delete(text);
      if (known.size > 9000) known.clear(); // a clock writes a new text each second
      known.set(text, found);
    }
    return known.get(text);
  };

  // A text node keeps what was written; scripts that ask for it get that.
  const written = new WeakMap();
  self.ksSaid = (node) => {
    if (node.nodeType === 3) return written.get(node) ?? node.data;
    return [...node.childNodes].map(self.ksSaid).join("");
  };
  const spaced = (text) => text.replace(/(\d) (?=(?:[kmµ]?g|m?l|lb|oz|h|min|s|[cm]?m|%|°[CF]|ppm|kJ)(?![\p{L}\p{N}]))/gu, "$1\u00a0");
  const put = (text) => {
    const found = said(text);
    if (found === undefined) return;
    const [, before, after] = [0, /^\s*/.exec(text)[0], /\s*$/.exec(text)[0]];
    const one = found.replace(/\s+/g, " ").trim();
    if (one !== text.replace(/\s+/g, " ").trim()) made.add(one); // what stays as it is, is marked each time
    return before + spaced(found) + after;
  };
  // What the kitchen calls its parts and foods may be a word of the frame as well: there it stays.
  const named = ".ks-part h3, .ks-name, .ks-formula > h1";
  const left = (node) => !node || node.closest("script, style, svg, [data-kept]");
  const alone = (node) => {
    const box = document.createElement("span");
    node.before(box);
    box.append(node);
    return node;
  };
  const turn = (node) => {
    const box = node.parentElement;
    if (!/\p{L}/u.test(node.data) || left(box)) return;
    const plain = node.data.replace(/\s+/g, " ").trim();
    if (made.has(plain)) return;
    const name = box.closest(named), is = plain.toLowerCase();
    const found = name ? own[is] || undefined : put(node.data);
    if (found === undefined || found.replace(/\s+/g, " ").trim() === plain) {
      if (neutral(plain) || (!name && exact(plain) !== undefined)) return;
      // Beside elements a sentence gets a box of its own to be marked by.
      if (box.childElementCount) {
        if (!name && plain.split(" ").length > 3) turn(alone(node));
        return;
      }
      box.lang = home;
      box.classList.toggle("ks-untold", !name && !has(own, is) && (!found || /[.?!]$/.test(plain)));
      return;
    }
    if (box.lang === home) box.removeAttribute("lang"), box.classList.remove("ks-untold");
    if (box.tagName === "OPTION" && !box.hasAttribute("value")) box.value = box.text;
    written.set(node, node.data);
    node.data = found;
  };
  const names = ["aria-label", "title", "placeholder", "alt"];
  const attribute = (box, name) => {
    const at = box.localName === "svg" ? box.parentElement : box; // its name is read aloud
    const text = box.getAttribute(name), found = text && !left(at) && put(text);
    if (found && found !== text) box.setAttribute(name, found);
  };
  const walk = (root) => {
    if (root.nodeType === 3) return turn(root);
    if (root.nodeType !== 1 || left(root)) return;
    for (const name of names) for (const box of [root, ...root.querySelectorAll(`[${name}]`)]) attribute(box, name);
    const nodes = document.createTreeWalker(root, 4), texts = [];
    while (nodes.nextNode()) texts.push(nodes.currentNode);
    texts.forEach(turn);
  };
  const go = () => {
    html.lang = chosen;
    // A page written by hand keeps its language as a whole.
    const article = document.querySelector(".md-content__inner");
    if (article && !article.querySelector(".ks:not(.ks-phone)")) article.lang = home, (article.dataset.kept = "");
    walk(html);
    new MutationObserver((changes) => {
      for (const { type, target, addedNodes, attributeName } of changes) {
        if (type === "childList") addedNodes.forEach(walk);
        else if (type === "characterData") turn(target);
        else attribute(target, attributeName);
      }
    }).observe(html, { subtree: true, childList: true, characterData: true, attributes: true, attributeFilter: names });
  };
  if (document.readyState === "loading") addEventListener("DOMContentLoaded", go);
  else go();
};
