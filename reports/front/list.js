// The list of sites: filtered and sorted, with the state in the address, so that a link shows the same to others.
// No request is made and nothing is kept. Names are other people's words: they go in as text, never as markup.
"use strict";
(() => {
  const SHOWN = 200;
  const data = JSON.parse(document.getElementById("island").textContent);
  const FIELDS = ["rank", "id", "name", "region", "critical", "high", "medium", "low", "kwh", "cost", "visit", "kinds", "page"];
  const sites = data.sites.map((row) => {
    const site = Object.fromEntries(FIELDS.map((field, place) => [field, row[place]]));
    site.region = data.regions[site.region];
    site.kinds = site.kinds.map((kind) => data.kinds[kind]);
    site.words = `${site.id} ${site.name} ${site.region}`.toLowerCase();
    site.label = site.name || site.id;
    return site;
  });
  const form = document.getElementById("filter");
  const table = document.getElementById("list");
  const more = document.getElementById("more");
  const body = table.tBodies[0];
  const heads = [...table.querySelectorAll("th[data-sort]")];
  const down = new Set(["critical", "high", "medium", "low", "kwh", "cost", "visit"]);  // the most first
  const numbers = new Intl.NumberFormat("en", { useGrouping: true });
  const grouped = (value) => value === null ? "not known" : numbers.format(value).replaceAll(",", "\u202f");
  let state = {};
  let limit = SHOWN;

  const fits = (site) => {
    const text = (state.text || "").trim().toLowerCase();
    if (text && !text.split(/\s+/).every((word) => site.words.includes(word))) return false;
    if (state.region && site.region !== state.region) return false;
    if (!state.rule && !state.severity && !state.area) return true;
    return site.kinds.some(([rule, severity, area]) => (!state.rule || rule === state.rule)
      && (!state.severity || severity === state.severity) && (!state.area || area === state.area));
  };

  const compare = (key, turn) => (one, other) => {
    const [a, b] = key === "name" ? [one.label, other.label] : [one[key], other[key]];
    if (a === b) return one.rank - other.rank;
    if (a === null || a === "") return 1;  // what is not known comes last, whichever way
    if (b === null || b === "") return -1;
    return turn * (typeof a === "string" ? a.localeCompare(b) : a - b);
  };

  const sorting = () => {
    const key = (state.sort || "rank").replace(/^-/, "");
    const known = heads.some((head) => head.dataset.sort === key) ? key : "rank";
    return [known, (state.sort || "").startsWith("-") ? -1 : 1];
  };

  const element = (name, text, kind) => {
    const made = document.createElement(name);
    if (text !== undefined) made.textContent = text;
    if (kind) made.className = kind;
    return made;
  };

  const row = (site) => {
    const line = element("tr");
    const head = element("th");
    head.scope = "row";
    const label = element(site.page ? "a" : "span", site.label);
    if (site.page) label.href = `sites/${encodeURIComponent(site.page)}`;
    head.append(label);
    if (site.name) head.append(" ", element("span", site.id, "id"));
    const count = (value) => element("td", grouped(value), value ? "n" : "n none");
    line.append(element("td", String(site.rank), "n"), head, element("td", site.region, "region"),
      ...["critical", "high", "medium", "low", "kwh", "cost"].map((key) => count(site[key])),
      element("td", site.visit ? "needed" : "no", "w"));
    return line;
  };

  const show = () => {
    const [key, turn] = sorting();
    const found = sites.filter(fits).sort(compare(key, turn));
    body.replaceChildren(...found.slice(0, limit).map(row));
    const findings = (one, many, number) => `${grouped(number)} ${number === 1 ? one : many}`;
    document.getElementById("matches").textContent = !found.length ? "No site matches." : found.length === sites.length
      ? findings("site", "sites", sites.length)
      : `${grouped(found.length)} of ${findings("site", "sites", sites.length)}`;
    more.hidden = found.length <= limit;
    more.textContent = `Show ${grouped(Math.max(0, Math.min(SHOWN, found.length - limit)))} more`;
    for (const head of heads) {
      head.setAttribute("aria-sort", head.dataset.sort !== key ? "none" : turn > 0 ? "ascending" : "descending");
    }
  };

  const fill = () => {
    for (const field of form.elements) if (field.name) field.value = state[field.name] || "";
  };

  // The address holds the state where it has an "=", and else the place on the page.
  const read = () => {
    const part = location.hash.slice(1);
    state = part.includes("=") ? Object.fromEntries(new URLSearchParams(part)) : {};
    fill();
    limit = SHOWN;
    show();
    if (part.includes("=")) document.getElementById("sites").scrollIntoView();
  };

  const write = (key, value) => {
    if (value) state[key] = value; else delete state[key];
    limit = SHOWN;
    history.replaceState(null, "", `#${new URLSearchParams(state).toString() || "sites"}`);
    show();
  };

  for (const head of heads) {
    const button = element("button", head.textContent);
    button.type = "button";
    button.addEventListener("click", () => {
      const [key, turn] = sorting();
      const first = down.has(head.dataset.sort) ? "-" : "";
      const other = turn > 0 ? "-" : "";
      write("sort", (key === head.dataset.sort ? other : first) + head.dataset.sort);
    });
    head.replaceChildren(button);
  }
  for (const mark of document.querySelectorAll("[data-show]")) {
    const link = element("a", mark.textContent);
    link.href = `#${mark.dataset.show}`;
    mark.replaceChildren(link);
  }
  form.addEventListener("input", (event) => write(event.target.name, event.target.value));
  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("reset", (event) => {
    event.preventDefault();
    state = {};
    fill();
    write("sort", "");
  });
  more.addEventListener("click", () => { limit += SHOWN; show(); });
  window.addEventListener("hashchange", read);
  document.getElementById("plain").hidden = true;
  form.hidden = false;
  read();
})();
