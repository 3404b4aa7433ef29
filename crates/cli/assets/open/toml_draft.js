// Edits of a TOML file that are not saved yet. Each group of keys (a table, an action) is saved as soon as the program can read it.

/** A copy of a file's values, the edits made to it, and what would have to be set. */
export class TomlDraft {
  /** `name` is where unsaved edits are kept in this browser until they are saved. */
  constructor(name) {
    this.name = name;
    this.saved = {};
    this.wanted = {};
  }

  /** Takes the file's values; edits of groups that are not saved yet stay. */
  take(read) {
    const values = plain(read);
    const isFirst = this.isNew !== false;
    this.isNew = false;
    const kept = isFirst ? this.kept() : this.differs() ? { saved: this.saved, wanted: this.wanted } : null;
    this.saved = structuredClone(values);
    this.wanted = structuredClone(values);
    if (!kept) return;
    for (const group of groups({ ...kept.saved, ...kept.wanted })) {
      const before = at(kept.saved, group);
      const edited = at(kept.wanted, group);
      // Only an edit that still fits what stands in the file is kept.
      if (!same(before, edited) && same(before, at(values, group))) put(this.wanted, group, structuredClone(edited));
    }
    this.keep();
  }

  /** The value at this path as it is wanted. */
  get(path) {
    return at(this.wanted, path);
  }

  /** Wants a value; null takes the key away. */
  set(path, value) {
    put(this.wanted, path, value);
    this.keep();
  }

  /** Whether anything of this group is not saved. */
  differs(group = []) {
    return !same(at(this.saved, group), at(this.wanted, group));
  }

  /** What has to be set so that the file says what is wanted of this group. */
  steps(group) {
    return steps(at(this.saved, group), at(this.wanted, group), group);
  }

  /** The file now says what was wanted of this group. */
  accept(group) {
    put(this.saved, group, structuredClone(at(this.wanted, group)));
    this.keep();
  }

  /** Gives up the edits of this group. */
  revert(group) {
    put(this.wanted, group, structuredClone(at(this.saved, group)));
    this.keep();
  }

  keep() {
    try {
      if (this.differs()) localStorage.setItem(this.name, JSON.stringify({ saved: this.saved, wanted: this.wanted }));
      else localStorage.removeItem(this.name);
    } catch {
      // A browser may refuse to keep anything; the edits then live as long as the page.
    }
  }

  kept() {
    try {
      return JSON.parse(localStorage.getItem(this.name));
    } catch {
      return null;
    }
  }
}

/** Tables, single keys and single actions, as paths. */
function groups(values) {
  return Object.entries(values ?? {}).flatMap(([key, value]) =>
    Array.isArray(value) && value.some(isTable) ? value.map((_, index) => [key, index]) : [[key]]);
}

/** Values with dates as text; a TOML date may come as a table of its one private key. */
function plain(value) {
  if (Array.isArray(value)) return value.map(plain);
  if (!isTable(value)) return value;
  const date = value.$__toml_private_datetime;
  if (date) return date;
  const kept = Object.entries(value).filter(([, one]) => one !== null && one !== undefined);
  return Object.fromEntries(kept.map(([key, one]) => [key, plain(one)]));
}

const isTable = (value) => value !== null && typeof value === "object" && !Array.isArray(value);

function same(a, b) {
  return JSON.stringify(sorted(a)) === JSON.stringify(sorted(b));
}

function sorted(value) {
  if (!isTable(value)) return value ?? null;
  return Object.fromEntries(Object.keys(value).sort().map((key) => [key, sorted(value[key])]));
}

function at(values, path) {
  return path.reduce((value, key) => value?.[key], values);
}

/** Sets or takes away a value; a table that is left empty goes as well. */
function put(values, path, to) {
  if (path.length === 0) return;
  const [key, ...rest] = path;
  if (rest.length === 0) {
    if (to === null || to === undefined) Array.isArray(values) ? values.splice(key, 1) : delete values[key];
    else values[key] = to;
    return;
  }
  if (values[key] === null || typeof values[key] !== "object") {
    if (to === null || to === undefined) return;
    values[key] = typeof rest[0] === "number" ? [] : {};
  }
  put(values[key], rest, to);
  if (isTable(values[key]) && Object.keys(values[key]).length === 0) delete values[key];
}

/** The fewest keys to set, so that comments and order in the file stay. */
function steps(saved, wanted, path) {
  if (same(saved, wanted)) return [];
  const isNewTable = path.length === 1 && saved === undefined && isTable(wanted);
  if (path.length > 0 && !isNewTable && (!isTable(saved) || !isTable(wanted))) return [{ at: path, to: wanted ?? null }];
  const keys = [...new Set([...Object.keys(saved ?? {}), ...Object.keys(wanted ?? {})])];
  return keys.flatMap((key) => steps(saved?.[key], wanted?.[key], [...path, key]));
}
