// Which part of the desk is shown; the parts themselves.

import { announce, byId } from "./elements.js";
import { Bands } from "./bands.js";
import { PlanForm } from "./plan.js";
import { ClassTable } from "./class.js";

const plan = new PlanForm(byId("view-plan"));
const units = () => byId("units").value || null;
const bands = new Bands(plan, units);
const group = new ClassTable(byId("view-class"), bands, plan, units);

const VIEWS = ["bands", "plan", "class"];

function show() {
  const hash = location.hash.slice(1);
  if (hash === "work") {
    byId("work").focus();
    return;
  }
  const shown = VIEWS.includes(hash) ? hash : "bands";
  for (const view of VIEWS) {
    byId(`view-${view}`).hidden = view !== shown;
    const link = document.querySelector(`nav a[href="#${view}"]`);
    if (view === shown) link.setAttribute("aria-current", "page");
    else link.removeAttribute("aria-current");
  }
  announce("");
  if (shown === "class") group.show();
  if (shown === "bands") bands.shown();
}

addEventListener("hashchange", show);
byId("units").addEventListener("change", () => {
  bands.remeasureShown();
  group.show();
});
plan.onchange = () => bands.planChanged();

show();
bands.load();
document.documentElement.dataset.ready = "yes";
