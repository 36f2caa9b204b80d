/**
 * Three devices and a server under whatever can happen, at random from printed seeds: lost requests
 * and replies, pages killed, clocks off, tabs, restores. When the faults stop, everything
 * converges, and every value that was written is shown, in a clash, or was superseded by one who
 * had seen it. Repeat some with SEED="<number> …".
 */
import { afterAll, describe, expect, it } from "vitest";
import { Browser, Device, idOf, mulberry } from "./device";
import { FakeServer } from "./fake-server";

const SEEDS = process.env["SEED"]
  ? process.env["SEED"].split(" ").map(Number)
  : [11, 23, 37, 41, 59, 61, 73, 89, 97, 101, 113, 127];
const STEPS = 120;
const BUILD = idOf(0xb1);
const TYPES = ["kit", "note", "step_progress"] as const;

const done: number[] = [];
afterAll(() => console.log(`seeds run: ${done.join(" ")}`));

class Crew {
  readonly browser = new Browser();
  skewMs = 0;
  tabs: Device[] = [];
  constructor(
    readonly server: FakeServer,
    readonly clock: string,
    readonly seed: number,
  ) {}
  async open(): Promise<Device> {
    const device = await Device.start(this.server, {
      browser: this.browser,
      clock: (await this.heldClock()) ?? this.clock,
      seed: this.seed + this.tabs.length,
      nowMs: () => this.server.nowMs + this.skewMs,
    });
    await device.store.load(BUILD);
    this.tabs.push(device);
    return device;
  }
  /** The clock in the outbox: a new one may have been taken. */
  async heldClock(): Promise<string | null> {
    return (await this.tabs[0]?.outbox.clock())?.clock ?? null;
  }
  killAll(): void {
    for (const tab of this.tabs) tab.kill();
    this.tabs = [];
  }
}

async function run(seed: number): Promise<void> {
  const random = mulberry(seed);
  const pick = (count: number): number => Math.floor(random() * count);
  const server = new FakeServer();
  const crews = [1, 2, 3].map((n) => new Crew(server, `00000000000000d${n}`, seed * 10 + n));
  for (const crew of crews) await crew.open();
  let trouble = 0;
  server.fault = () => {
    const roll = random();
    if (roll < trouble) return "drop";
    if (roll < trouble * 2) return "lose";
    return roll < trouble * 2.2 ? "html" : undefined;
  };
  const written: { record: string; value: string }[] = [];
  let backup = server.backup();
  let serial = 0;

  const writeAt = async (device: Device): Promise<void> => {
    serial += 1;
    const value = `v${serial}`;
    const roll = pick(10);
    if (roll < 4) {
      const id = idOf(1 + pick(4));
      await device.store.write([{ type: "kit", id, set: { name: value } }]);
      written.push({ record: id, value });
    } else if (roll < 6) {
      const ids = [1 + pick(4), 1 + pick(4)].map(idOf);
      await device.store.write(
        ids.map((id) => ({ type: "kit" as const, id, set: { about: value, name: value } })),
        { together: true },
      );
    } else if (roll < 8) {
      const id = idOf(0x1000 + serial);
      const at = "2026-05-04T18:30:00.000Z";
      await device.store.write([{ type: "note", id, set: { build: BUILD, text: value, at } }]);
      written.push({ record: id, value });
    } else if (roll < 9) {
      const id = idOf(0x20 + pick(3));
      const set = { build: BUILD, step: id, word: value };
      await device.store.write([{ type: "step_progress", id, set }]);
    } else {
      const kits = device.store.all("kit");
      const view = kits[pick(kits.length)];
      if (view?.deleteAsked) await device.store.settleDelete(view, random() < 0.5);
      else if (view && random() < 0.3) await device.store.remove([view]);
    }
  };

  for (let step = 0; step < STEPS; step += 1) {
    server.nowMs += pick(5_000);
    const crew = crews[pick(3)]!;
    const device = crew.tabs[pick(crew.tabs.length)]!;
    const roll = pick(100);
    if (roll < 45) await writeAt(device);
    else if (roll < 70) await device.courier.exchange();
    else if (roll < 76) {
      // A write while an exchange is under way.
      const exchange = device.courier.exchange();
      await writeAt(device);
      await exchange;
    } else if (roll < 81) {
      // The page dies in the middle of an exchange; the browser stops its requests.
      let alive = true;
      const fault = server.fault;
      let calls = pick(4);
      server.fault = (call) => ((calls -= 1) < 0 ? ((alive = false), "drop") : fault(call));
      await device.courier.exchange();
      server.fault = fault;
      void alive;
      crew.killAll();
      await crew.open();
    } else if (roll < 85 && crew.tabs.length < 2) await crew.open();
    else if (roll < 90) trouble = [0, 0.1, 0.3][pick(3)]!;
    else if (roll < 93) crew.skewMs = [0, 3_600_000, -7_200_000][pick(3)]!;
    else if (roll < 95) server.pageLimit = [1, 3, 5_000][pick(3)]!;
    else if (roll < 97) backup = server.backup();
    else if (roll < 98) {
      server.restore(backup);
      backup = server.backup();
    } else server.pushMax = [4, 20_000][pick(2)]!;
  }

  trouble = 0;
  server.pushMax = 20_000;
  for (let round = 0; round < 4; round += 1) {
    for (const crew of crews) for (const tab of crew.tabs) await tab.courier.exchange();
  }
  const views = crews.flatMap((crew) => crew.tabs.map((tab) => tab.shown(TYPES)));
  for (const view of views) expect(view).toEqual(views[0]);
  for (const crew of crews) {
    for (const tab of crew.tabs) {
      const { unsentChanges, parked, server: reached, refusal } = tab.courier.state.value;
      expect({ unsentChanges, parked, reached, refusal }).toEqual({
        unsentChanges: 0, parked: [], reached: "reached", refusal: null,
      });
    }
  }
  // A device that begins from nothing sees the same.
  const fresh = new Crew(server, "00000000000000d9", seed);
  const newcomer = await fresh.open();
  await newcomer.courier.exchange();
  expect(newcomer.shown(TYPES)).toEqual(views[0]);
  // Nothing that was written is gone without trace: it is in the journal.
  const kept = new Set([...server.journal.values()].map((c) => `${c.record} ${JSON.stringify(c.set)}`));
  for (const { record, value } of written) {
    expect([...kept].some((line) => line.startsWith(record) && line.includes(`"${value}"`))).toBe(true);
  }
  done.push(seed);
}

describe("three devices and a server", () => {
  it.each(SEEDS)("converge whatever happens, seed %i", { timeout: 60_000 }, (seed) => run(seed));
});
