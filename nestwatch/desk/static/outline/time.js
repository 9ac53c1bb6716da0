// Which still is shown: the night, the time in it, plain or averaged. Tells when a new one is there.

import { get, getPicture } from "./api.js";

const WAIT_MS = 160;

export class Time {
  constructor({ onStill, onTrouble, timezone }) {
    Object.assign(this, { onStill, onTrouble });
    this.night = document.getElementById("night");
    this.range = document.getElementById("time");
    this.averaged = document.getElementById("averaged");
    this.clock = document.getElementById("clock");
    this.track = document.getElementById("track");
    this.format = new Intl.DateTimeFormat("en-GB", { hour: "2-digit", minute: "2-digit", timeZone: timezone });
    this.url = null;
    this.night.addEventListener("change", () => this.loadStrip());
    this.range.addEventListener("input", () => this.later());
    this.averaged.addEventListener("change", () => this.load());
  }

  async choose(number) {
    this.number = number;
    this.night.replaceChildren();
    this.track.replaceChildren();
    try {
      const nights = await get(`/api/camera/${number}/nights`);
      if (number !== this.number) return;
      this.night.append(...nights.map((night) => new Option(night, night)));
      this.range.disabled = this.night.disabled = false;
      await this.loadStrip();
    } catch (error) {
      this.range.disabled = this.night.disabled = true;
      this.clock.textContent = "";
      this.show(null);
      this.onTrouble(`${error.message} Zones and marks can still be changed.`);
    }
  }

  async loadStrip() {
    try {
      const strip = await get(`/api/camera/${this.number}/strip?night=${this.night.value}`);
      const recorded = strip.recorded.at(0) ?? [strip.from, strip.to];
      Object.assign(this.range, { min: strip.from, max: strip.to, step: 30 });
      this.range.value = recorded[0] + (recorded[1] - recorded[0]) * 0.1;
      this.drawTrack(strip);
      await this.load();
    } catch (error) {
      this.onTrouble(error.message);
    }
  }

  drawTrack(strip) {
    const share = (at) => (100 * (at - strip.from)) / (strip.to - strip.from);
    const bars = strip.recorded.map(([from, to]) => {
      const bar = Object.assign(document.createElement("span"), { className: "seen" });
      bar.style.left = `${share(from)}%`;
      bar.style.width = `${share(to) - share(from)}%`;
      return bar;
    });
    const suns = [["sunset", strip.sunset], ["sunrise", strip.sunrise]].filter(([, at]) => at && at > strip.from && at < strip.to);
    const words = suns.map(([name, at]) => {
      const word = Object.assign(document.createElement("span"), { className: "sun", textContent: name });
      word.style.left = `${Math.min(92, Math.max(8, share(at)))}%`;
      return word;
    });
    this.track.replaceChildren(...bars, ...words);
  }

  tellTime() {
    const words = this.format.format(new Date(Number(this.range.value) * 1000));
    this.clock.textContent = words;
    this.range.setAttribute("aria-valuetext", words);
    return words;
  }

  later() {
    this.tellTime();
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.load(), WAIT_MS);
  }

  async load() {
    this.asked?.abort();
    this.asked = new AbortController();
    const { signal } = this.asked;
    const words = this.tellTime();
    const query = `night=${this.night.value}&at=${this.range.value}&averaged=${this.averaged.checked ? 1 : 0}`;
    try {
      this.show(await getPicture(`/api/camera/${this.number}/still?${query}`, signal), words);
    } catch (error) {
      if (error.name !== "AbortError") this.onTrouble(error.message);
    }
  }

  show(url, words = "") {
    const former = this.url;
    this.url = url;
    this.onStill(url, words);
    if (former) setTimeout(() => URL.revokeObjectURL(former), 2000);
  }
}
