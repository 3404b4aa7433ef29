// Distances and bearings over a field: the Earth is flat enough for some kilometres.

// Metres in a degree of latitude: a minute of it is a nautical mile of 1852 m, within 0.6 %.
const M_PER_DEG = 60 * 1852;
const BEARINGS = [
  "north",
  "north-east",
  "east",
  "south-east",
  "south",
  "south-west",
  "west",
  "north-west",
];

// From one place to another: metres to the east and to the north.
function stepBetween([lonA, latA], [lonB, latB]) {
  const middle = ((latA + latB) / 2) * (Math.PI / 180);
  return [(lonB - lonA) * M_PER_DEG * Math.cos(middle), (latB - latA) * M_PER_DEG];
}

function distanceBetween(from, to) {
  return Math.hypot(...stepBetween(from, to));
}

// Degrees from north, clockwise: 0 to 359.
function bearingBetween(from, to) {
  const [east, north] = stepBetween(from, to);
  return (Math.round((Math.atan2(east, north) * 180) / Math.PI) + 360) % 360;
}

function bearingWords(degrees) {
  return `${BEARINGS[Math.round(degrees / 45) % 8]} (${degrees}°)`;
}

// The median distance from each place to its nearest neighbour, in metres; null for fewer than three.
function spacingOf(places) {
  if (places.length < 3) return null;
  const nearest = places.map((place, k) =>
    Math.min(...places.filter((_, other) => other !== k).map((other) => distanceBetween(place, other))),
  );
  nearest.sort((a, b) => a - b);
  return nearest[Math.floor(nearest.length / 2)];
}
