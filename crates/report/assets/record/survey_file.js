// The survey as GeoJSON (RFC 7946), one insertion a line, with the property names loosedepth reads.

function surveyText(recording) {
  const { setup } = recording;
  const spots = spotsOf(recording);
  const counts = new Map();
  const features = recording.presses
    .filter((press) => press.date)
    .map((press) => {
      const spot = spots.get(press.spot);
      const insertion = (counts.get(press.spot) ?? 0) + 1;
      counts.set(press.spot, insertion);
      return JSON.stringify(feature(press, insertion, spot, recording));
    });
  const name = [recording.field ?? "Survey", firstDay(recording)].filter(Boolean).join(" ");
  return (
    `{"type":"FeatureCollection","name":${JSON.stringify(name)},"features":[\n` +
    `${features.join(",\n")}\n]}\n`
  );
}

function feature(press, insertion, spot, { setup, about }) {
  const unit = UNITS[setup.units];
  const of = about[press.spot] ?? {};
  const properties = {
    point_id: press.spot,
    insertion,
    date: press.date,
    time: press.time,
    outcome: press.what,
    [`depth_${unit.depth}`]: press.depth ?? null,
    at_least: press.what === "not_reached",
    [`threshold_${unit.pressure.toLowerCase()}`]: setup.threshold,
    cone_mm: press.cone,
    instrument: press.instrument,
    operator: press.operator,
    accuracy_m: spot.accuracy,
    position: spot.from,
    moisture_pct: of.moisture ?? null,
    note: of.note || null,
  };
  return { type: "Feature", geometry: { type: "Point", coordinates: spot.at }, properties };
}

function firstDay({ presses }) {
  return presses.find((press) => press.date)?.date;
}

function fileName(recording) {
  const name = (recording.field ?? "survey").toLowerCase().normalize("NFKD");
  const plain = name.replace(/[^\p{L}\p{N}]+/gu, "-").replace(/^-|-$/g, "") || "survey";
  return `${plain}-${firstDay(recording)}.geojson`;
}

// Hands the file to the browser, which saves it.
function saveText(text, name) {
  const address = URL.createObjectURL(new Blob([text], { type: "application/geo+json" }));
  const link = document.createElement("a");
  link.href = address;
  link.download = name;
  document.body.append(link);
  link.click();
  link.remove();
  // Some browsers read it after the click has returned.
  setTimeout(() => URL.revokeObjectURL(address), 60_000);
}

// The file as the device's other programs take it: many take only plain text. loosedepth knows the
// file by what is in it.
function sharable(recording) {
  if (!navigator.canShare) return null;
  const text = surveyText(recording);
  const name = fileName(recording);
  const files = [
    new File([text], name, { type: "application/geo+json" }),
    new File([text], `${name}.txt`, { type: "text/plain" }),
  ];
  return files.find((file) => navigator.canShare({ files: [file] })) ?? null;
}
