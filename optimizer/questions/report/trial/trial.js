/* The panel: the densities of one weight, and what follows from them. In one scope with ball.js. */

const data = JSON.parse(document.getElementById("trial-data").textContent);
const panel = document.getElementById(data.panel);
const { units } = data;

/* Words */

/* A density as it is printed, or in full where that would be another one. */
function written(density) {
  const short = number(density, units.density);
  const exact = density / units.density.factor;
  return Math.abs(Number(short) - exact) * units.density.factor < 1e-12 ? short : String(exact);
}

/* A number typed with either decimal mark, NaN where it is none. */
const typed = (text) =>
  (/^\s*(\d+([.,]\d*)?|[.,]\d+)\s*$/.test(text) ? Number(text.replace(",", ".")) : NaN);

const counted = (tolerances) => `${fixed(Math.abs(tolerances), 1)} tolerances`;

/* How far a figure is off its target, and whether by more than its tolerance. */
function aim(target, ball, unit) {
  const by = ball[target.figure] - target.asked;
  const amount = number(Math.abs(by), unit, 1);
  if (Number(amount) === 0) return { words: "on target", off: false };
  const way = `${amount} ${unit.name} ${by > 0 ? "over" : "under"}`;
  if (target.tolerance === null) return { words: way, off: false };
  const off = Math.abs(by) > target.tolerance;
  const words = `${way}, ${counted(by / target.tolerance)}`;
  return { words: `${off ? "OFF TARGET" : "within tolerance"}: ${words}`, off };
}

/* A limit's cells, and whether the ball is outside of it. What stating the densities can move is
   no breach, and leaves no room. */
function standing(limit, { ball, densities, nudged }) {
  const note = limit.note ? `: ${limit.note}` : "";
  const figure = value(limit, ball, densities);
  if (figure === null) {
    const bound = number(limit.bound, limit.unit);
    return { cells: ["no low-RG axis", `${limit.side} ${bound}${note}`, "-", "-"], outside: false };
  }
  const slack =
    limit.slack ?? (limit.side === "least" ? figure - limit.bound : limit.bound - figure);
  const reach = nudged.reduce((sum, other) => (
    sum + Math.abs((value(limit, other.ball, other.densities) ?? figure) - figure)
  ), data.arithmetic);
  const [outside, atLimit] = [slack < -reach, Math.abs(slack) <= reach];
  const unit = outside
    ? parting(figure, limit.bound, parting(slack, 0, limit.unit)) : limit.unit;
  const amount = told(Math.abs(slack), unit);
  let where = `inside by ${amount}`;
  if (atLimit || Number.parseFloat(amount) === 0) {
    where = `at its ${limit.side === "least" ? "minimum" : "maximum"}`;
  } else if (outside) where = `OUTSIDE by ${amount}${limit.rule ? ", a warning only" : ""}`;
  let room = outside ? "outside its limit" : "no tolerance declared";
  if (atLimit) room = "no room";
  else if (limit.tolerance !== null) {
    const count = counted(slack / limit.tolerance).replace(/^0\.0 /, "less than 0.1 ");
    room = `${outside ? "outside by " : ""}${count}`;
  }
  const bound = `${limit.side} ${number(limit.bound, unit)}${note}`;
  return { cells: [told(figure, unit), bound, where, room], outside };
}

/* Where the low-RG axis is, if it isn't the pin axis. */
function lowAxis({ tilt, highest, differential }) {
  if (tilt === null) {
    const pin = highest && Math.abs(highest[2]) > Math.cos(data.tilted);
    const more = pin ? "; the pin axis has the high RG" : "";
    const alike = differential <= data.axis_gap ? "three" : "two lower";
    return `There is no low-RG axis to speak of (the ${alike} RGs are alike)${more}.`;
  }
  if (tilt <= data.tilted) return "The low-RG axis is the pin axis.";
  const angle = fixed(tilt * (180 / Math.PI), 1);
  return `The low-RG axis is not the pin axis but ${angle}° from it.`;
}

/* The parts that stand in a weight, in the order of its densities. */
const partsOf = (weight) => weight.parts.map((k) => data.parts[k]);

/* What a designer pastes: tables of materials, and in words where they are used. */
function lines(weight, densities) {
  const texts = densities.map(written);
  const parts = partsOf(weight);
  const measured = parts.length < data.parts.length
    ? "every weight of these parts alone is" : "all weights are";
  const tables = parts.flatMap((part, i) => [
    `[materials.${part.trial}]`,
    `density = ${texts[i]}`,
    ...(part.spread ? [`tolerance = ${part.spread}`] : []),
    "",
  ]);
  const options = parts.map((part, i) => `--density ${part.option}${texts[i]}`).join(" ");
  const mould = weight.dimensions.length ? [
    "# And this mould was tried: in [dimensions] write",
    ...weight.dimensions.map((line) => `# ${line}`),
  ] : [];
  return [
    `# ${data.scenario}: a trial for ${weight.name}, not solved`,
    "# Paste all this below the file's last line, and give each of [[parts]] its material:",
    ...parts.map((part) => `# ${part.name}: material = ${part.trial}`),
    ...mould,
    "# The densities alone can be given beside the file, too:",
    `# ${data.check} ${options}`,
    `# Either way ${measured} measured at these densities: look at ${weight.name}.`,
    "",
    ...tables,
  ].join("\n");
}

/* The page */

function make(tag, properties = {}, ...children) {
  const node = document.createElement(tag);
  for (const [key, content] of Object.entries(properties)) {
    if (key in node) node[key] = content;
    else node.setAttribute(key, content);
  }
  node.append(...children);
  return node;
}

function table(name, headers, rows) {
  const caption = make("caption", {}, name);
  const head = make("tr", {}, ...headers.map((header) => make("th", { scope: "col" }, header)));
  const scrolled = { className: "table", tabIndex: 0, role: "region", "aria-label": name };
  return make("div", scrolled, make(
    "table", {}, caption, make("thead", {}, head), make("tbody", {}, ...rows),
  ));
}

/* A row of a table, and how its cells are filled. */
function row(name, cells) {
  const outputs = Array.from({ length: cells }, () => make("output", { "aria-live": "off" }));
  const node = make(
    "tr", {}, make("th", { scope: "row" }, name), ...outputs.map((one) => make("td", {}, one)),
  );
  const fill = (texts, loud) => {
    outputs.forEach((one, k) => { one.value = texts[k]; });
    node.className = loud ? "bad" : "";
  };
  return { node, fill };
}

/* The slider and the field of one part: `tell` is called with a density, `show` shows one. */
function pour(part, k, alike, tell) {
  const { name: unit, factor, digits } = units.density;
  const id = `${data.panel}-part-${k}`;
  const least = Math.ceil(part.low / part.step - 1e-6);
  const most = Math.floor(part.high / part.step + 1e-6);
  const span = part.low === part.high
    ? `fixed at ${number(part.low, units.density)}`
    : `can be poured: ${number(part.low, units.density)} to ${told(part.high, units.density)}`;
  const slider = make("input", { id, type: "range", min: least, max: most, step: 1 });
  const field = make("input", {
    id: `${id}-field`, type: "text", inputMode: "decimal", autocomplete: "off",
    "aria-label": `${part.name}, density in ${unit}`,
    "aria-describedby": `${id}-span ${id}-state`,
  });
  const slides = least < most;
  const state = make("strong", { id: `${id}-state` });
  let kept = NaN;
  const outside = () => kept < part.low || kept > part.high;
  const named = () =>
    `${written(kept)} ${unit}${outside() ? ", outside what can be poured" : ""}`;
  const show = (density) => {
    kept = density;
    slider.value = Math.round(density / part.step);
    slider.setAttribute("aria-valuetext", told(density, units.density));
    state.textContent = outside() ? named() : "";
  };
  const read = () => {
    const density = typed(field.value) * factor;
    const [lowest, highest] = data.pourable;
    const known = density >= lowest && density <= highest;
    field.setAttribute("aria-invalid", String(!known));
    if (known) tell(density);
    else {
      const ends = `${lowest / factor} to ${highest / factor} ${unit}`;
      state.textContent = `no density to pour: a number from ${ends}; still tried: ${named()}`;
    }
  };
  field.addEventListener("input", read);
  field.addEventListener("keydown", (event) => {
    const way = { ArrowUp: 1, ArrowDown: -1 }[event.key];
    if (!way) return;
    event.preventDefault();
    field.value = fixed((kept + way * part.step) / factor, digits);
    read();
  });
  slider.addEventListener("input", () => {
    field.value = fixed((Number(slider.value) * part.step) / factor, digits);
    read();
  });
  const node = make("div", { className: "pour" },
    make("label", { htmlFor: (slides ? slider : field).id }, `${part.name} (${part.material})`),
    slides ? slider : make("span"),
    field,
    make("small", {},
      make("span", { id: `${id}-span` }, [span, alike].filter(Boolean).join("; ")), " ", state),
  );
  const begin = (density) => {
    field.value = written(density);
    field.setAttribute("aria-invalid", "false");
    show(density);
  };
  return { node, show, begin };
}

const FIGURES = [
  ["weight", "weight", "mass"],
  ["low RG", "rg", "rg"],
  ["intermediate RG", "intermediate RG", "rg"],
  ["high RG", "high RG", "rg"],
  ["differential", "differential", "rg"],
  ["intermediate differential", "intermediate_differential", "rg"],
  ["top weight", "top_weight", "imbalance"],
  ["CG offset", "cg_offset", "length"],
  ["pin distance", "pin_distance", "length"],
];

/* Everything for one weight: the densities tried, and what follows from them. */
function bench(weight, tried, announce) {
  const figures = FIGURES.map(([name, , quantity]) => row(`${name}, ${units[quantity].name}`, 2));
  const places = ["x", "y", "z"].map((axis) => row(`CG ${axis}, ${units.length.name}`, 2));
  const limits = weight.limits.map((limit) => row(limit.about, 4));
  const axis = make("p", {});
  const text = make("textarea", { readOnly: true, rows: 12, spellcheck: false, wrap: "off" });
  const refresh = () => {
    const trial = nearby(weight, tried);
    const { ball } = trial;
    const missed = [];
    FIGURES.forEach(([name, key, quantity], k) => {
      const target = weight.targets.find(({ figure }) => figure === key);
      const unit = units[quantity];
      const { words, off } = target ? aim(target, ball, unit) : { words: "", off: false };
      figures[k].fill([number(ball[key], unit), words], off);
      if (off) missed.push(name);
    });
    places.forEach(({ fill }, k) => fill([number(ball.cg[k], units.length, 1), ""], false));
    const outside = weight.limits.filter((limit, k) => {
      const found = standing(limit, trial);
      limits[k].fill(found.cells, found.outside);
      return found.outside;
    });
    axis.textContent = lowAxis(ball);
    text.value = lines(weight, tried);
    const aimed = missed.length ? `off target in ${missed.join(", ")}` : "on target";
    const kept = outside.length
      ? `outside: ${outside.map(({ about, side }) => `${about} (${side})`).join(", ")}`
      : "inside every limit";
    announce(`${weight.name}, trial: ${told(ball.weight, units.mass)}, ${aimed}, ${kept}.`);
  };
  const pours = partsOf(weight).map((part, k) => pour(part, k, weight.alike[k], (density) => {
    tried[k] = density;
    pours[k].show(density);
    refresh();
  }));
  const begin = () => {
    pours.forEach(({ begin: set }, k) => set(tried[k]));
    refresh();
  };
  const densities = make("fieldset", {},
    make("legend", {}, `Densities tried, ${units.density.name}`),
    ...pours.map(({ node }) => node));
  const results = table(`What follows (RGs about ${data.point}; z toward the pin)`,
    ["figure", "measured", "against its target"],
    [...figures.slice(0, 6), ...places, ...figures.slice(6)].map(({ node }) => node));
  const held = table("Room to each limit", ["figure", "measured", "limit", "where", "room"],
    limits.map(({ node }) => node));
  const nodes = [
    make("div", { className: "bench" }, densities, make("div", {}, results, axis)), held,
  ];
  return { nodes, text, begin };
}

/* What changed is said once things are at rest, not at every step of a slider. */
const status = make("p", { role: "status" });
let waiting = 0;
function announce(words) {
  clearTimeout(waiting);
  waiting = setTimeout(() => { status.textContent = words; }, 700);
}

const trials = data.weights.map(({ densities }) => [...densities]);
const chosen = make("select", { id: `${data.panel}-weight` },
  ...data.weights.map(({ name }, k) => make("option", { value: k }, name)));
const reset = make("button", { type: "button" }, `Back to the ${data.start}`);
const shown = make("button", {
  type: "button", "aria-expanded": "false", "aria-controls": `${data.panel}-lines`,
}, "Show scenario lines");
const place = make("div", {});
const text = make("div", {});
const copy = make("button", { type: "button" }, "Copy the lines");
const area = make("div", { id: `${data.panel}-lines`, hidden: true },
  make("label", { htmlFor: `${data.panel}-text` }, "Scenario lines of this trial"), text, copy);
let now = null;

function open(k) {
  now = bench(data.weights[k], trials[k], announce);
  now.text.id = `${data.panel}-text`;
  place.replaceChildren(...now.nodes);
  text.replaceChildren(now.text);
  now.begin();
}

chosen.addEventListener("change", () => open(Number(chosen.value)));
reset.addEventListener("click", () => {
  const k = Number(chosen.value);
  trials[k].splice(0, Infinity, ...data.weights[k].densities);
  now.begin();
});
shown.addEventListener("click", () => {
  area.hidden = !area.hidden;
  shown.setAttribute("aria-expanded", String(!area.hidden));
  shown.textContent = area.hidden ? "Show scenario lines" : "Hide scenario lines";
});
copy.addEventListener("click", async () => {
  now.text.select();
  const writing = navigator.clipboard?.writeText(now.text.value);
  const copied = await writing?.then(() => true, () => false);
  announce(copied ? "The lines are copied." : "The lines are selected: copy them by hand.");
});

const title = make("h2", { id: `${data.panel}-title` }, "Trial, not solved");
panel.replaceChildren(make("section", { "aria-labelledby": title.id },
  title,
  make("p", {}, "Move the densities of one weight and see what follows at once. Nothing is "
    + "sought here: the ball is measured at the densities as they stand, for the shapes as drawn."),
  make("div", { className: "tools" },
    make("label", { htmlFor: chosen.id }, "Weight class"), chosen, reset, shown),
  area, place, status));
open(0);
