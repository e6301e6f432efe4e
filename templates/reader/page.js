// Turns the script on the page into one step at a time. It makes no words of its own but numbers: all that it shows
// stands in the page already. Nothing is sent, and nothing is kept but in this tab, until it is closed.
"use strict";
(() => {
  const root = document.documentElement;
  const editions = [...document.querySelectorAll(".edition")];
  const facts = editions[0].dataset;
  const key = `docgen ${facts.code} ${facts.site} ${facts.fingerprint}`;

  // --- the order of steps: the main path, and each branch -----------------------------------------------------

  const steps = new Map(); // id -> {id, label, branch, held, headline}
  const branches = new Map(); // id -> {id, letter, goes, steps}
  const main = [];
  for (const view of editions[0].querySelectorAll(".part .view")) {
    const branch = view.closest(".branch");
    const id = view.dataset.step;
    steps.set(id, {id, label: view.dataset.label, branch: branch ? branch.dataset.branch : "",
      held: view.querySelector(".hold") !== null});
    if (!branch) {
      main.push(id);
      continue;
    }
    const known = branches.get(branch.dataset.branch) ||
      {id: branch.dataset.branch, letter: branch.dataset.letter, goes: branch.dataset.goes, steps: []};
    known.steps.push(id);
    branches.set(known.id, known);
  }

  // --- what has happened so far ---------------------------------------------------------------------------------

  // One entry for each time a step is come to: {step, from, to, seconds, result, through, confirmed, breaches, timer,
  // returns}. A step is through when one has gone on from it, or has found what it asks for; whoever turned back, or was
  // called away by something else, has not finished it.
  const fresh = (settings = {}) =>
    ({began: 0, ended: 0, left: false, path: [], aside: [], at: -1, names: {}, settings});
  let state = fresh();
  const keep = () => {
    try {
      sessionStorage.setItem(key, JSON.stringify(state));
    } catch { /* no storage here: a reload begins again */ }
  };
  const remembered = () => {
    try {
      const known = JSON.parse(sessionStorage.getItem(key));
      return known && known.path.every((entry) => steps.has(entry.step)) ? known : null;
    } catch {
      return null;
    }
  };
  const entry = () => state.path[state.at];
  const waits = () => entry() !== undefined && steps.get(entry().step).held && !entry().confirmed;
  const now = () => Date.now();
  const arrive = (it) => { it.since = now(); };
  const depart = (it) => {
    if (it && it.since) {
      it.seconds += (now() - it.since) / 1000;
      it.to = now();
      it.since = 0;
    }
  };

  // What follows an entry: {step, returns}, or null for the end. `returns` are the steps at which branches were left.
  const after = (it) => {
    const here = steps.get(it.step);
    if (!here.branch) {
      const next = main[main.indexOf(it.step) + 1];
      return next ? {step: next, returns: []} : null;
    }
    const branch = branches.get(here.branch);
    const next = branch.steps[branch.steps.indexOf(it.step) + 1];
    if (next) return {step: next, returns: it.returns};
    if (branch.goes === "same") return {step: it.returns.at(-1), returns: it.returns.slice(0, -1)};
    return branch.goes ? {step: branch.goes, returns: []} : null;
  };

  const add = (next) => {
    state.aside.push(...state.path.splice(state.at + 1));
    const unmarked = {seconds: 0, result: "", through: false, confirmed: false, breaches: 0, timer: 0};
    state.path.push({...next, from: now(), to: now(), ...unmarked});
    state.at = state.path.length - 1;
  };
  const move = (change) => {
    stopTimer();
    depart(entry());
    change();
    if (entry() && !state.ended) arrive(entry());
    keep();
    show();
  };

  const begin = () => {
    state = {...fresh(state.settings), began: now()};
    move(() => add({step: main[0], returns: []}));
    awake();
  };
  const forward = () => {
    if (state.ended) return;
    if (state.at < 0) {
      if (state.path.length) move(() => { state.at = 0; });
      else begin();
      return;
    }
    if (waits()) {
      ask();
      return;
    }
    const next = after(entry());
    entry().through = true;
    if (!next) {
      state.left = branches.has(steps.get(entry().step).branch);
      move(() => { state.aside.push(...state.path.splice(state.at + 1)); state.ended = now(); });
    } else if (state.path[state.at + 1]) {
      move(() => { state.at += 1; });
    } else {
      move(() => add(next));
    }
  };
  const back = () => {
    if (state.ended) move(() => { state.ended = 0; });
    else if (state.at >= 0) move(() => { state.at -= 1; });
  };
  const branchOff = (id, offered) => {
    if (state.at < 0) begin();
    const from = entry();
    if (offered && !waits()) from.through = true;
    move(() => add({step: branches.get(id).steps[0], returns: [...from.returns, from.step]}));
  };
  // A stop that was not confirmed bars the way to what follows it.
  const reachable = () => {
    const done = new Set([...state.path, ...state.aside].filter((it) => it.confirmed).map((it) => it.step));
    const barred = main.findIndex((id) => steps.get(id).held && !done.has(id));
    return new Set(barred < 0 ? main : main.slice(0, barred + 1));
  };
  const jump = (id) => {
    if (!reachable().has(id)) return;
    if (!state.began) state.began = now();
    const known = state.path.findLastIndex((it) => it.step === id && !it.returns.length);
    state.ended = 0;
    move(() => {
      if (known >= 0) state.at = known;
      else add({step: id, returns: []});
    });
  };

  // --- what is seen ---------------------------------------------------------------------------------------------

  const shown = () => editions.find((edition) => edition.classList.contains("shown"));
  const find = (selector) => shown().querySelector(selector);
  const all = (selector) => document.querySelectorAll(selector);
  const pressed = (button, is) => button.setAttribute("aria-pressed", String(is));
  const say = (words) => { find(".say-aloud").textContent = words; };
  const place = () => (state.ended ? "record" : state.at < 0 ? "" : entry().step);

  const show = () => {
    const id = place();
    for (const edition of editions) {
      for (const part of edition.querySelectorAll(".view, .part")) part.classList.remove("now", "here");
      const view = edition.querySelector(`.view[data-step="${CSS.escape(id)}"]`);
      view.classList.add("now");
      for (let up = view.closest(".part"); up; up = up.parentElement.closest(".part")) up.classList.add("here");
      const label = id && steps.has(id) ? `${steps.get(id).label} / ${main.length}` : `${main.length}`;
      edition.querySelector(".place").textContent = label;
      edition.classList.toggle("idle", !steps.has(id));
    }
    root.classList.toggle("ended", state.ended > 0 && state.left);
    const heading = find(".view.now :is(.headline, h1, h2)");
    document.title = [steps.has(id) ? steps.get(id).label : "", heading.textContent, shown().dataset.title]
      .filter(Boolean).join(" · ");
    say("");
    marks();
    if (state.ended) log();
    const view = find(".view.now");
    view.tabIndex = -1;
    find(".stage").scrollTo({top: 0, behavior: "instant"});
    window.scrollTo({top: 0, behavior: "instant"});
    view.focus({preventScroll: true});
    button();
    aloud();
  };
  const marks = () => {
    const it = entry();
    for (const mark of all(".marks .mark")) {
      const is = it && (mark.dataset.mark === "breach" ? it.breaches > 0 : it.result === mark.dataset.mark);
      pressed(mark, Boolean(is));
    }
    for (const confirm of all(".view.now .confirm")) pressed(confirm, Boolean(it && it.confirmed));
  };
  // How much of the step is still below; the way on first leads through it.
  const scrolls = (stage) => stage.scrollHeight > stage.clientHeight + 4;
  const below = () => {
    const stage = find(".stage");
    const scroller = scrolls(stage) ? stage : document.scrollingElement;
    return {scroller, rest: scroller.scrollHeight - scroller.clientHeight - scroller.scrollTop};
  };
  const more = () => below().rest > 12;
  const atTop = () => below().scroller.scrollTop < 4;
  const button = () => {
    const next = find(".next");
    const last = state.at >= 0 && !state.ended && after(entry()) === null;
    const words = more() ? "more" : state.ended ? "again" : state.at < 0 ? "begin" : last ? "finish" : "next";
    next.dataset.does = words;
    next.querySelector(".word").textContent = next.dataset[words];
    next.setAttribute("aria-disabled", String(words !== "more" && waits()));
    find(".stage").tabIndex = scrolls(find(".stage")) ? 0 : -1; // what scrolls can be come to with the Tab key
  };
  const onward = () => {
    if (more()) {
      const {scroller} = below();
      scroller.scrollBy({top: Math.max(scroller.clientHeight * 0.8, 60), behavior: calm.matches ? "instant" : "smooth"});
    } else if (state.ended) {
      state = fresh(state.settings);
      move(() => {});
    } else {
      forward();
    }
  };
  const calm = matchMedia("(prefers-reduced-motion: reduce)");

  // --- stops ------------------------------------------------------------------------------------------------------

  let asked = 0;
  const ask = () => {
    asked = now();
    const confirm = find(".view.now .confirm");
    confirm.scrollIntoView({block: "center", behavior: "instant"});
    confirm.focus({preventScroll: true});
    say(find(".say-aloud").dataset.confirm);
  };
  const confirm = () => {
    if (now() - asked < 600) return; // the same press that was stopped here
    entry().confirmed = !entry().confirmed;
    say("");
    marks();
    button();
    keep();
  };

  // --- timers -----------------------------------------------------------------------------------------------------

  let ticking = null;
  const clock = (seconds) => `${Math.floor(seconds / 60)}:${String(Math.floor(seconds % 60)).padStart(2, "0")}`;
  const setTimer = (timer, left, state, word) => {
    timer.dataset.state = state;
    timer.querySelector(".clock").textContent = clock(left);
    timer.querySelector(".word").textContent = timer.dataset[word];
  };
  const stopTimer = () => {
    if (!ticking) return;
    clearInterval(ticking.beat);
    setTimer(ticking.timer, ticking.whole, "", "start");
    ticking = null;
  };
  const startTimer = (timer) => {
    const whole = Number(timer.dataset.seconds);
    const end = performance.now() + whole * 1000;
    const tick = () => {
      const left = Math.max(0, (end - performance.now()) / 1000);
      entry().timer = Math.round(whole - left);
      if (left > 0) {
        setTimer(timer, Math.ceil(left), "running", "stop");
        return;
      }
      clearInterval(ticking.beat);
      ticking = null;
      setTimer(timer, 0, "up", "up");
      say(find(".say-aloud").dataset.up);
      sound();
      keep();
    };
    ticking = {timer, whole, beat: setInterval(tick, 100)};
    tick();
  };
  const sound = () => {
    if (!state.settings.sound) return;
    try {
      const audio = new AudioContext();
      const tone = audio.createOscillator();
      tone.frequency.value = 880;
      tone.connect(audio.destination);
      tone.start();
      tone.stop(audio.currentTime + 0.6);
    } catch { /* no sound here */ }
  };

  // --- reading aloud, and a screen that stays awake ----------------------------------------------------------------

  const voice = () => "speechSynthesis" in window && speechSynthesis.getVoices()
    .find((v) => v.lang.toLowerCase().split(/[-_]/)[0] === shown().lang.toLowerCase().split("-")[0]);
  const voices = () => {
    const found = Boolean(voice());
    shown().classList.toggle("voiced", found);
    for (const one of all('.switch[data-switch="aloud"]')) one.disabled = !found;
  };
  const aloud = () => {
    if (!("speechSynthesis" in window)) return;
    speechSynthesis.cancel();
    if (!state.settings.aloud || !voice() || !steps.has(place())) return;
    const parts = [...find(".view.now").querySelectorAll(".caution, .say")];
    const words = new SpeechSynthesisUtterance(parts.map((part) => part.textContent).join(" "));
    words.voice = voice();
    words.lang = shown().lang;
    speechSynthesis.speak(words);
  };
  const awake = async () => {
    try {
      await navigator.wakeLock.request("screen");
    } catch { /* this device decides for itself */ }
  };

  // --- settings ----------------------------------------------------------------------------------------------------

  const settle = () => {
    const {language, size, theme} = state.settings;
    const chosen = editions.find((edition) => edition.lang === language) || editions[0];
    for (const edition of editions) edition.classList.toggle("shown", edition === chosen);
    root.lang = chosen.lang;
    root.dir = chosen.dir;
    for (const [name, value] of [["size", size], ["theme", theme]]) {
      if (value) root.dataset[name] = value;
      else delete root.dataset[name];
    }
    const values = {language: chosen.lang, size: size || "", theme: theme || ""};
    for (const set of all(".set")) pressed(set, values[set.dataset.set] === set.dataset.value);
    for (const one of all(".switch")) pressed(one, Boolean(state.settings[one.dataset.switch]));
    voices();
  };

  // --- the record --------------------------------------------------------------------------------------------------

  const two = (n) => String(n).padStart(2, "0");
  const iso = (time) => {
    const d = new Date(time);
    const zone = -d.getTimezoneOffset();
    const clock = `${two(d.getHours())}:${two(d.getMinutes())}:${two(d.getSeconds())}`;
    const offset = `${zone < 0 ? "-" : "+"}${two(Math.floor(Math.abs(zone) / 60))}:${two(Math.abs(zone) % 60)}`;
    return `${day(d)}T${clock}${offset}`;
  };
  const day = (d) => `${d.getFullYear()}-${two(d.getMonth() + 1)}-${two(d.getDate())}`;
  const headline = (id) => {
    const found = find(`.view[data-step="${CSS.escape(id)}"] .headline`);
    return found ? found.textContent : "";
  };
  const entries = () => [...state.path, ...state.aside].sort((a, b) => a.from - b.from).map((it) => ({
    step: it.step,
    label: steps.get(it.step).label,
    branch: steps.get(it.step).branch,
    headline: headline(it.step),
    begun: iso(it.from),
    seconds: Math.round(it.seconds),
    result: it.result || (it.through ? "done" : "unfinished"),
    confirmed: steps.get(it.step).held ? it.confirmed : null,
    timer: it.timer,
    breaches: it.breaches,
  }));
  const record = () => {
    const {code, version, fingerprint, title, site, unit, effective, review} = shown().dataset;
    const seen = new Set([...state.path, ...state.aside].map((it) => it.step));
    return {
      "session-record": 1, code, version, fingerprint, title, site, unit, language: shown().lang, effective, review,
      began: iso(state.began), ended: iso(state.ended), outcome: state.left ? "left" : "complete",
      names: Object.fromEntries(Object.entries(state.names).filter(([, value]) => value)),
      steps: entries(),
      unseen: main.filter((id) => !seen.has(id)),
    };
  };
  const log = () => {
    const body = find(".log tbody");
    body.replaceChildren(...entries().map((it) => {
      const row = document.createElement("tr");
      const result = [body.dataset[it.result], ...(it.breaches ? [body.dataset.breach] : [])].join(" · ");
      for (const words of [`${it.label} ${it.headline}`, it.begun.slice(11, 19), String(it.seconds), result]) {
        row.insertCell().textContent = words;
      }
      return row;
    }));
    for (const field of all(".names :is(input, textarea)")) field.value = state.names[field.name] || "";
  };
  // A cell that begins as a formula would is text for spreadsheets, too, and says so by a mark that is doubled if meant.
  const cell = (value) => {
    const text = value === null ? "" : String(value);
    return `"${(/^[=+\-@\t\r']/.test(text) ? `'${text}` : text).replaceAll('"', '""')}"`;
  };
  const csv = () => {
    const {steps: rows, unseen, names, ...head} = record();
    const people = {wearer: "", observer: "", assistant: "", remarks: "", ...names};
    const absent = unseen.map((id) => ({...Object.fromEntries(Object.keys(rows[0]).map((k) => [k, ""])), step: id,
      label: steps.get(id).label, headline: headline(id), result: "unseen"}));
    const lines = [...rows, ...absent].map((row) => ({...head, ...people, ...row}));
    return [Object.keys(lines[0]), ...lines.map(Object.values)].map((row) => row.map(cell).join(",")).join("\r\n");
  };
  const save = (how) => {
    if (how === "print") {
      root.classList.add("record-only");
      window.print();
      root.classList.remove("record-only");
      return;
    }
    const {code, version, site} = facts;
    const words = how === "json" ? JSON.stringify(record(), null, 1) + "\n" : "\ufeff" + csv() + "\r\n";
    const kind = how === "json" ? "application/json" : "text/csv";
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([words], {type: kind}));
    link.download = `${code}-v${version}-${site}-${iso(state.began).slice(0, 19).replaceAll(":", "")}.${how}`.toLowerCase();
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60000);
  };

  // --- hands -------------------------------------------------------------------------------------------------------

  const open = (name) => {
    const dialog = find(name);
    const free = reachable();
    for (const to of dialog.querySelectorAll(".to")) {
      to.disabled = !free.has(to.dataset.to);
      if (to.dataset.to === place()) to.setAttribute("aria-current", "step");
      else to.removeAttribute("aria-current");
    }
    dialog.showModal();
    above();
    const here = dialog.querySelector('[aria-current="step"]');
    if (here) here.focus();
  };
  // A dialog leaves the stamp in sight.
  const above = () => {
    const dialog = document.querySelector("dialog[open]");
    if (dialog) dialog.style.height = `${find(".stamp").getBoundingClientRect().top}px`;
  };
  const shut = () => { for (const dialog of all("dialog[open]")) dialog.close(); };
  const mark = (what) => {
    const it = entry();
    if (what === "breach") it.breaches = it.breaches ? 0 : 1;
    else it.result = it.result === what ? "" : what;
    marks();
    keep();
  };
  const actions = {
    next: onward, back, confirm, close: shut,
    steps: () => open(".overview"),
    alarm: () => open(".alarms"),
    mark: (it) => mark(it.dataset.mark),
    save: (it) => save(it.dataset.save),
    to: (it) => { shut(); jump(it.dataset.to); },
    way: (it) => { shut(); branchOff(it.dataset.branch, it.closest(".view") !== null); },
    timer: (it) => { if (ticking) stopTimer(); else startTimer(it); },
    set: (it) => {
      state.settings[it.dataset.set] = it.dataset.value;
      const other = it.dataset.set === "language" && it.dataset.value !== root.lang;
      if (other) { // each language has its own dialog: what is open must not vanish with the old one
        shut();
        stopTimer();
      }
      settle();
      keep();
      if (!other) {
        above();
        button();
        return;
      }
      show();
      open(".overview");
      find(`.set[data-set="language"][data-value="${CSS.escape(root.lang)}"]`).focus();
    },
    switch: (it) => { state.settings[it.dataset.switch] = !state.settings[it.dataset.switch]; settle(); keep(); },
  };
  document.addEventListener("click", (event) => {
    const target = event.target.closest("button, a.way");
    if (!target || target.disabled) return;
    const does = [...target.classList].find((name) => name in actions);
    if (!does) return;
    event.preventDefault();
    actions[does](target);
  });
  document.addEventListener("input", (event) => {
    state.names[event.target.name] = event.target.value;
    keep();
  });
  document.addEventListener("keydown", (event) => {
    const open = document.querySelector("dialog[open]");
    const typing = event.target.closest("input, textarea");
    if (open || typing || event.altKey || event.ctrlKey || event.metaKey) return;
    const control = event.target.closest("button, a");
    const rtl = root.dir === "rtl";
    const ahead = {PageDown: true, [rtl ? "ArrowLeft" : "ArrowRight"]: true};
    const behind = {PageUp: true, [rtl ? "ArrowRight" : "ArrowLeft"]: true};
    if (event.key === " " && control) {
      if (control.tagName === "A") control.click();
      else return; // the button's own
    } else if (event.key === " " || (event.key === "Enter" && !control)) {
      if (!event.repeat) (event.shiftKey ? back : onward)();
    } else if (ahead[event.key]) {
      if (!event.repeat) onward();
    } else if (behind[event.key]) {
      if (!event.repeat) back();
    } else if (event.key === "ArrowDown" && !more()) { // some pedals send the arrows that scroll
      if (!event.repeat) onward();
    } else if (event.key === "ArrowUp" && atTop()) {
      if (!event.repeat) back();
    } else {
      return;
    }
    event.preventDefault();
  });
  let touch = null;
  document.addEventListener("touchstart", (event) => {
    const one = event.touches.length === 1 && event.target.closest(".stage") ? event.touches[0] : null;
    touch = one && {x: one.clientX, y: one.clientY};
  }, {passive: true});
  document.addEventListener("touchend", (event) => {
    if (!touch) return;
    const x = event.changedTouches[0].clientX - touch.x;
    const y = event.changedTouches[0].clientY - touch.y;
    touch = null;
    if (Math.abs(x) < 60 || Math.abs(x) < 2 * Math.abs(y)) return;
    if (x < 0 !== (root.dir === "rtl")) onward();
    else back();
  }, {passive: true});
  for (const stage of all(".stage")) stage.addEventListener("scroll", button, {passive: true});
  window.addEventListener("scroll", button, {passive: true});
  window.addEventListener("resize", () => { above(); button(); });
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible" && state.at >= 0) awake();
  });
  window.addEventListener("pagehide", () => { if (!state.ended) depart(entry()); keep(); });
  if ("speechSynthesis" in window) speechSynthesis.addEventListener("voiceschanged", voices);

  const today = day(new Date());
  root.classList.toggle("past", today > facts.review);
  root.classList.toggle("coming", today < facts.effective);
  root.classList.add("on");
  state = {...fresh(), ...remembered()};
  settle();
  if (entry() && !state.ended) arrive(entry());
  show();
})();
