// Shows the map of the report, and opens what is folded when it is printed.

document.getElementById("map-part").hidden = false;
createMap(document.getElementById("map"), JSON.parse(document.getElementById("map-data").textContent));

const folded = () => [...document.querySelectorAll("details")];
addEventListener("beforeprint", () => {
  for (const one of folded().filter((one) => !one.open)) Object.assign(one, { open: true }).dataset.forPrint = "";
});
addEventListener("afterprint", () => {
  for (const one of folded().filter((one) => "forPrint" in one.dataset)) {
    one.open = false;
    delete one.dataset.forPrint;
  }
});

// What does not scroll needs no place among the keys' stops.
const regions = document.querySelectorAll(".table-scroll, .chart-scroll");
const observer = new ResizeObserver((entries) => {
  for (const { target } of entries) {
    if (target.scrollWidth > target.clientWidth + 1) target.tabIndex = 0;
    else target.removeAttribute("tabindex");
  }
});
for (const region of regions) observer.observe(region);
