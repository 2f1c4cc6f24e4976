"use strict";
/* A date's times under the pointer, a finger or the arrow keys; without this script the picture is as it is. */
for (const figure of document.querySelectorAll("[data-year]")) {
  const year = JSON.parse(figure.dataset.year);
  const dates = text => text.split(";").flatMap(part => {
    const [date, times] = part.split("*");
    return Array(Number(times || 1)).fill(date);
  });
  const [does, differs, sun, hours] = [year.does, year.differs, year.sun, year.hours].map(dates);
  const marks = text => [...text.matchAll(/([A-Z_])([0-9a-z]+)(?:@([\d.]+))?/g)];
  const clock = text => {
    const minute = parseInt(text, 36);
    return `${String(Math.floor(minute / 60)).padStart(2, "0")}:${String(minute % 60).padStart(2, "0")}`;
  };

  const stretches = text => {
    const found = new Map();
    marks(text).forEach(([, letter, from, level], place, all) => {
      if (letter === "_") return;
      const words = year.words[letter] + (level ? ` at ${level} %` : "");
      const until = all[place + 1][2];
      found.set(words, [...(found.get(words) || []), `${clock(from)}–${clock(until)}`]);
    });
    return [...found].map(([words, times]) => `${words} ${times.join(", ")}`).join("; ");
  };
  const at = (text, letter) => marks(text).filter(mark => mark[1] === letter).map(mark => clock(mark[2])).join(", ");
  const pairs = (text, from, until) => {
    const [one, other] = [at(text, from), at(text, until)];
    return one || other ? `${one}–${other}` : "";
  };
  const name = (day, long) => new Date(Date.parse(year.first) + 864e5 * day).toLocaleDateString("en-GB", {
    weekday: long ? "long" : undefined, day: "numeric", month: "long", year: "numeric", timeZone: "UTC" });
  const sentence = text => text && `${text[0].toUpperCase()}${text.slice(1)}. `;

  const plots = [...figure.querySelectorAll(".yp-plot")];
  const reading = figure.querySelector(".yp-reading");
  const count = year.count;
  let day = Math.floor(count / 2);

  const show = to => {
    day = Math.min(Math.max(to, 0), count - 1);
    for (const plot of plots) {
      const ground = plot.querySelector(".yp-dark");
      const x = ground.width.baseVal.value * (day + .5) / count;
      plot.classList.add("yp-on");
      plot.querySelector(".yp-hand").setAttribute("transform", `translate(${x} 0)`);
      plot.setAttribute("aria-valuenow", day + 1);
      plot.setAttribute("aria-valuetext", name(day, false));
    }
    const open = pairs(hours[day] || "", "P", "Q"), light = pairs(sun[day] || "", "R", "S");
    reading.textContent = `${name(day, true)}. ${sentence(stretches(does[day] || "") || "off all day")}${sentence(stretches(differs[day] || ""))}`
      + sentence(light && `sun ${light}`) + sentence(open && `open ${open}`) + sentence(year.notes[day] || "");
  };
  const point = event => {
    const ground = event.currentTarget.querySelector(".yp-dark").getBoundingClientRect();
    const share = (event.clientX - ground.left) / ground.width;
    if (share >= 0 && share < 1) show(Math.floor(share * count));
  };
  const keys = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1, PageDown: -30, PageUp: 30, Home: -1e6, End: 1e6 };
  for (const plot of plots) {
    for (const [key, value] of Object.entries({ tabindex: 0, role: "slider", "aria-label": "Date of the picture",
      "aria-valuemin": 1, "aria-valuemax": count, "aria-valuenow": day + 1, "aria-valuetext": name(day, false) })) plot.setAttribute(key, value);
    plot.addEventListener("pointermove", point);
    plot.addEventListener("pointerdown", point);
    plot.addEventListener("focus", () => plot.classList.contains("yp-on") || show(day));
    plot.addEventListener("keydown", event => {
      if (!(event.key in keys) || event.ctrlKey || event.metaKey || event.altKey) return;
      event.preventDefault();
      show(day + keys[event.key]);
    });
  }
  reading.setAttribute("aria-live", "polite");
  reading.textContent = "Point at a date, or move with the arrow keys, to read its times.";
}
