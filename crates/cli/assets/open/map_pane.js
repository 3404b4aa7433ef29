// The map beside the questions: hands the program's answers to the map script.

import { createMap } from "./map.js";

/** Ground across that is shown around a finding, metres. */
const AROUND_M = 250;

/** The map, made when there is something to draw. */
export class MapPane {
  constructor(place) {
    this.place = place;
    this.map = null;
    this.view = null;
    /** What is on it: nothing, one visit or two. */
    this.shows = null;
    this.parts = [];
  }

  /** A visit. */
  show(view) {
    this.draw(view, "visit");
    if (this.parts.length > 0) this.showParts(this.parts);
  }

  /** Two visits and their change, one on either side of the divider. */
  showTwo(view) {
    this.parts = [];
    this.draw(view, "two");
    const [left, right] = view.change?.visits ?? [0, view.visits.length - 1];
    this.map.setVisits(left, right);
  }

  draw(view, shows) {
    const isOther = this.shows !== shows;
    this.view = view;
    this.shows = shows;
    if (!this.map) this.map = createMap(this.place, view, {});
    else this.map.setData(view);
    if (isOther) this.map.setLayer("zones");
    if (shows === "visit") this.map.setVisits(view.visits.length - 1, view.visits.length - 1);
  }

  /** Other zones and classes of the visit that is shown. */
  zones(zones) {
    if (this.shows === "visit") this.map.setZones(zones);
  }

  /** Brings a place to the middle; a probe is marked. */
  goTo(place, point) {
    if (!this.map) return;
    if (point && this.view.visits.some((visit) => visit.probes.some((probe) => probe[3] === point))) this.map.select(point);
    if (place) this.map.goTo(place[0], place[1], AROUND_M);
    this.bringIntoView();
  }

  /** Brings a zone to the middle. */
  goToZone(id) {
    const zone = this.view?.visits.at(-1)?.zones.zones.find((one) => one.id === id);
    if (!zone?.at) return;
    this.map.fit();
    this.map.goTo(zone.at[0], zone.at[1]);
    this.bringIntoView();
  }

  /** On a narrow page the map may be out of sight. */
  bringIntoView() {
    const box = this.place.getBoundingClientRect();
    const isSeen = box.top > -box.height / 3 && box.top < innerHeight * 0.7;
    if (!isSeen) this.place.scrollIntoView({ block: "start" });
  }

  /** Parts of a plan over the map: treated ground and check strips. */
  showParts(parts) {
    this.parts = parts;
    this.map?.setOverlay({ shapes: parts.map(({ kind, d, words }) => ({ kind, path: d, words })) });
  }

  /** Takes the parts of a plan away. */
  clearParts() {
    this.showParts([]);
  }

  /** Says that something is being drawn. */
  busy(isBusy) {
    clearTimeout(this.busyTimer);
    if (!isBusy) return this.place.removeAttribute("aria-busy");
    this.busyTimer = setTimeout(() => this.place.setAttribute("aria-busy", "true"), 250);
  }
}
