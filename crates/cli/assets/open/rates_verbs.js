// What belongs to each thing that can be done: its depth, its rate, its price, its basis.

import { element } from "./element.js";

/** Rows of an action by its verb; `tools` makes rows and reads and sets the action's keys. */
export const rowsOf = {
  leave: () => [],

  loosen: (tools) => {
    const { text, date, select, get, set } = tools;
    const bottom = get("bottom");
    const source = typeof bottom === "object" ? "given" : (bottom ?? "");
    const change = (value) => {
      if (value === "given") set(["bottom"], { ...tools.kept("bottom") });
      else set(["bottom"], value || null);
    };
    return [
      select("bottom", "Where the bottom of the tight layer is known from", "The tool runs just below it.", source, [
        ["", "not known yet"], ["profiles", "the profiles of each zone"], ["given", "measured by hand"],
      ], change),
      ...(source === "given" ? [
        text(["bottom", "depth"], "bottom-depth", "Bottom of the tight layer", "With its unit: 13in, 33cm."),
        text(["bottom", "how"], "bottom-how", "How it was measured", "For instance: 4 pits, one in each large zone."),
        date(["bottom", "date"], "bottom-date", "Day it was measured"),
      ] : []),
      text(["margin"], "margin", "How far below the bottom", "With its unit. Empty: one inch (2.5 cm); above two it warns."),
      text(["cost_per_area"], "cost", "Cost of the pass", "By area: 28/ac."),
      text(["name"], "name", "Name of the operation", "Empty: its usual name."),
    ];
  },

  amend: (tools) => {
    const { text, number, date, select, get, set } = tools;
    const source = get("gypsum") ? "gypsum" : "rate";
    const change = (value) => {
      if (value === "gypsum") {
        set(["gypsum"], { ...tools.kept("gypsum") });
        set(["rate"], null);
      } else set(["gypsum"], null);
    };
    return [
      ...(source === "rate" ? [text(["product"], "product", "Product", "For instance gypsum.")] : []),
      select("rate-source", "Where the rate comes from", "", source, [["rate", "my own figure"], ["gypsum", "gypsum for sodic soil, worked out by NDSU's formula"]], change),
      ...(source === "rate" ? [
        text(["rate"], "rate", "Rate", "With its unit: 1.5 ton/ac (ton is 2000 lb, t is 1000 kg)."),
        select("rate-is", "The rate is of", "", get("rate_is") ?? "", [["", "the product as it is spread"], ["pure", "pure, dry material"]],
          (value) => set(["rate_is"], value || null)),
        ...(get("rate_is") === "pure" ? [
          number(["purity_pct"], "purity", "Purity of the product", "", "%"),
          number(["moisture_pct"], "moisture", "Moisture of the product", "", "%"),
        ] : []),
      ] : gypsumRows(tools)),
      text(["price"], "price", "Price of the product", "38/ton or 38 USD/ton."),
      text(["cost_per_area"], "cost", "Cost of spreading", "By area: 9/ac."),
      text(["hopper"], "hopper", "What the hopper or tank holds", "With its unit: 12000 lb."),
      text(["name"], "name", "Name of the operation", "Empty: its usual name."),
      element("fieldset", { class: "plain basis" },
        element("legend", {}, "What the rate rests on"),
        element("p", { class: "hint" }, "Without all four the plan is stamped RATES NOT BACKED BY A SOIL TEST."),
        element("div", { class: "fields" },
          text(["basis", "lab"], "lab", "Lab", ""),
          date(["basis", "date"], "basis-date", "Day of the lab's report"),
          text(["basis", "method"], "basis-method", "Method", "For instance: exchangeable sodium, ammonium acetate."),
          text(["basis", "recommended_by"], "recommended-by", "Recommended by", "A licensed or certified adviser."))),
    ];
  },

  other: ({ text }) => [text(["text"], "text", "What is to be done, in words", "It stands on the operator's sheet; no file for a machine says it.")],
};

function gypsumRows({ text, number }) {
  return [
    number(["gypsum", "cec"], "cec", "Cation exchange capacity", "", "meq/100 g"),
    number(["gypsum", "esp_now"], "esp-now", "Exchangeable sodium found", "", "%"),
    number(["gypsum", "esp_wanted"], "esp-wanted", "Exchangeable sodium wanted", "", "%"),
    text(["gypsum", "depth"], "gypsum-depth", "Depth to be treated", "With its unit: 12in, 0.3m."),
    number(["gypsum", "bulk_density"], "bulk-density", "Bulk density", "", "g/cm³"),
    number(["gypsum", "efficiency"], "efficiency", "Factor for sodium that is not replaced", "1.1 to 1.3. Empty: 1.1.", ""),
    number(["gypsum", "purity_pct"], "gypsum-purity", "Purity of the gypsum", "Empty: 100 %.", "%"),
  ];
}

