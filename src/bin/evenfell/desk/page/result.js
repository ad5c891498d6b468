// What came of a photo: drawn over it, and in words and figures under it.

import { el, svg, stem } from "./elements.js";
import { Axis } from "./mending.js";

const points = (line) => line.map(([x, y]) => `${x},${y}`).join(" ");

const segment = (name, [[x1, y1], [x2, y2]]) => svg("line", { class: name, x1, y1, x2, y2 });

// Draws the selvedges and every pick over the photo, every tenth with its number.
export function drawMarks(stage, reply) {
  const { marks, measurement } = reply;
  const byHand = new Set(measurement.corrections?.inserted_picks_mm ?? []);
  const parts = [
    svg("polyline", { class: "edge under", points: points(marks.left) }),
    svg("polyline", { class: "edge", points: points(marks.left) }),
    svg("polyline", { class: "edge under", points: points(marks.right) }),
    svg("polyline", { class: "edge", points: points(marks.right) }),
  ];
  for (const pick of marks.picks) {
    const made = [...byHand].some((at) => Math.abs(at - pick.at) < 0.02);
    const tenth = pick.number % 10 === 0;
    parts.push(segment(`pick under`, pick.ends));
    parts.push(segment(`pick${tenth ? " tenth" : ""}${made ? " made" : ""}`, pick.ends));
    if (tenth) {
      const [[x1, y1], [x2, y2]] = pick.ends;
      parts.push(svg("text", { x: x1 + (x1 - x2) * 0.09, y: y1 + (y1 - y2) * 0.09 }, String(pick.number)));
    }
  }
  stage.marks.replaceChildren(...parts);
}

const list = (title, items, kind = "ul") =>
  items.length ? el("section", {}, el("h3", {}, title), el(kind, {}, items)) : null;

function figures(reply) {
  return el("section", {}, el("h3", {}, "Figures"),
    el("table", { class: "figures" },
      el("caption", {}, "behind ± stands half of the 95 % interval"),
      el("thead", {}, el("tr", {}, ...["what", "measured", "note"].map((name) => el("th", { scope: "col" }, name)))),
      el("tbody", {}, reply.figures.map((figure) => el("tr", {},
        el("th", { scope: "row" }, figure.name), el("td", { class: "number" }, figure.value), el("td", { class: "words" }, figure.note))))));
}

const SIGN = { within: "✓ within", outside: "✗ outside", "cannot tell": "? cannot tell" };

function against(reply) {
  if (!reply.against.length) return null;
  return el("section", {}, el("h3", {}, "Against the plan"),
    el("table", { class: "against" },
      el("thead", {}, el("tr", {}, ...["what", "plan", "measured", "verdict"].map((name) => el("th", { scope: "col" }, name)))),
      el("tbody", {}, reply.against.map((line) => el("tr", {},
        el("th", { scope: "row" }, line.name), el("td", {}, line.planned), el("td", {}, line.measured),
        el("td", { class: line.verdict.replace(" ", "-") }, SIGN[line.verdict]))))));
}

function found(reply, stage) {
  const { measurement, marks } = reply;
  const axis = new Axis(marks.axis);
  return list("Found", measurement.findings.map((finding) => el("li", {}, finding.text, " ",
    el("button", {
      type: "button", class: "link",
      onclick: () => {
        const [a, b] = [finding.from_mm, finding.to_mm].map((at) => axis.point(at + marks.body[0]));
        stage.lookAt(a, b);
        stage.view.focus();
      },
    }, "show it"))), "ol");
}

function files(photo) {
  const name = stem(photo.name);
  const cloth = photo.reply.measurement.swatch;
  const link = (file, label) => el("a", { class: "button", href: `/api/photos/${photo.id}/${file}`, download: `${name}.${file}` }, label);
  const open = (file, label, strong) => el("a", {
    class: strong ? "button strong" : "button", href: `/api/photos/${photo.id}/${file}`, target: "_blank", rel: "noopener", id: file.replace(".", "-"),
  }, label);
  return el("section", {}, el("h3", {}, "Open and save"),
    el("p", { class: "row" }, open("report.html", "Open the report", true), open("marked.png", "The marked photo"),
      link("measurement.json", "The result (JSON)"), link("picks.csv", "The picks (CSV)"),
      cloth ? null : link("corrections.json", "What was put right (JSON)")),
    cloth ? null : el("p", { class: "hint" }, "The file of what was put right works on the command line too: ",
      el("code", {}, "evenfell measure PHOTO --corrections FILE")));
}

// Shows a photo's result under it.
export function showResult(host, photo, stage) {
  const { reply } = photo;
  const { measurement } = reply;
  const hand = measurement.warnings.find((warning) => warning.code === "put_right");
  const doubts = measurement.warnings.filter((warning) => warning !== hand).map((warning) => el("li", {}, warning.text));
  const missing = measurement.unmeasured.map((part) => el("li", {}, el("strong", {}, part.what), `: ${part.why}`));
  host.hidden = false;
  host.replaceChildren(
    el("div", { class: "verdict" }, reply.verdict.map((sentence) => el("p", {}, sentence))),
    hand ? el("p", { class: "by-hand", id: "by-hand" }, hand.text.replace(/^p/, "P"), ".") : "",
    files(photo),
    el("div", { class: "two" }, figures(reply), el("div", {}, ...[against(reply), found(reply, stage)].filter(Boolean))),
    ...[list("Doubts", doubts), list("Not measured", missing)].filter(Boolean),
    el("section", {}, el("h3", {}, "How the scale was known"), reply.scale.map((sentence) => el("p", {}, sentence))),
    reply.caution ? el("p", { class: "caution" }, el("strong", {}, "Caution. "), reply.caution) : "",
  );
}
