// Where the person is, as the receiver says, and how old that is.

// An older fix says where the person was, not where the rod is.
const FRESH_MS = 15_000;
const DAY_MS = 86_400_000;
// A clock that differs shows in fixes that follow one another, all late by the same, within this.
const SAME_LAG_MS = 2_000;

const receiver = { fix: null, problem: "The receiver has not said yet where you are.", lags: [], watch: null };

// Starts to listen, or anew: phones end it when the screen goes dark.
function listen(changed) {
  if (!window.isSecureContext || !navigator.geolocation) {
    receiver.problem =
      "This browser gives no position to a page opened in this way. Open it from an https address, or from a file on a computer.";
    changed();
    return;
  }
  if (receiver.watch !== null) navigator.geolocation.clearWatch(receiver.watch);
  receiver.watch = navigator.geolocation.watchPosition(
    (position) => {
      take(position);
      changed();
    },
    (error) => {
      receiver.problem = {
        1: "This page may not use your position. Allow it in the browser's settings of this page, then load the page again.",
        2: "The receiver does not know where you are. Go where the sky is open.",
      }[error.code] ?? "The receiver is slow to say where you are. Go where the sky is open.";
      changed();
    },
    { enableHighAccuracy: true, maximumAge: 0, timeout: 30_000 },
  );
}

function take({ coords, timestamp }) {
  const { longitude, latitude, accuracy } = coords;
  // Receivers without a fix write 0, 0.
  const isPlace = [longitude, latitude, accuracy].every(Number.isFinite) && (longitude || latitude);
  if (!isPlace) return;
  const now = Date.now();
  receiver.fix = {
    at: [Number(longitude.toFixed(7)), Number(latitude.toFixed(7))],
    accuracy: Number(accuracy.toFixed(1)),
    taken: now - lagOf(now, timestamp),
  };
}

// How old a fix was when it came. A browser may hand out an old one first, so its own time counts,
// unless that is of another clock: in the future, of another day, or late by the same again and again.
function lagOf(now, timestamp) {
  const lag = now - timestamp;
  const before = receiver.lags.at(-1);
  if (!before || timestamp > before.timestamp) {
    receiver.lags = [...receiver.lags, { timestamp, lag }].slice(-3);
  }
  const lags = receiver.lags.map((one) => one.lag);
  const isSteady = lags.length === 3 && Math.max(...lags) - Math.min(...lags) <= SAME_LAG_MS;
  const isOfThisClock = lag >= 0 && lag < DAY_MS && !isSteady;
  return isOfThisClock ? lag : 0;
}

function ageMs() {
  return receiver.fix ? Math.max(0, Date.now() - receiver.fix.taken) : Infinity;
}

// Why no reading can be taken now, or null.
function noFixBecause() {
  if (!receiver.fix) return receiver.problem;
  const age = ageMs();
  if (age <= FRESH_MS) return null;
  return `The position is ${ageWords(age)} old; it may be ${FRESH_MS / 1000} s at most. Wait for a new one.`;
}

function ageWords(ms) {
  const seconds = Math.floor(ms / 1000);
  return seconds < 120 ? `${seconds} s` : `${Math.floor(seconds / 60)} min`;
}
