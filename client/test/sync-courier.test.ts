/**
 * The exchange against a server in memory; failures by their number in the list of sync failures.
 */
import { describe, expect, it } from "vitest";
import { Browser, Device, idOf } from "./device";
import { FakeServer, type Fault } from "./fake-server";

const KIT = idOf(0x100);
const kit = (name: string, id = KIT) => ({ type: "kit" as const, id, set: { name } });

/** A fault for the next request of this kind, then none. */
function once(server: FakeServer, call: string, fault: Fault): void {
  server.fault = (made) => {
    if (made !== call) return undefined;
    server.fault = () => undefined;
    return fault;
  };
}

const PUSH = "POST /api/sync/push";
const PULL = "GET /api/sync/pull";

describe("an exchange", () => {
  it("carries a write to the server and to another device", async () => {
    const server = new FakeServer();
    const phone = await Device.start(server, { clock: "00000000000000d1" });
    const tablet = await Device.start(server, { clock: "00000000000000d2" });
    await phone.store.write([kit("Tarn 6")]);
    expect(phone.store.get("kit", KIT)).toMatchObject({ values: { name: "Tarn 6" }, unsent: true });
    expect(phone.courier.state.value.unsentChanges).toBe(0);
    await phone.courier.exchange();
    expect(phone.store.get("kit", KIT)?.unsent).toBe(false);
    expect(phone.courier.state.value).toMatchObject({
      server: "reached", unsentChanges: 0, parked: [], refusal: null, storage: null,
    });
    await tablet.courier.exchange();
    expect(tablet.store.get("kit", KIT)?.values.name).toBe("Tarn 6");
  });

  it("resends a push whose reply was lost without doubling it (failures 3, 16)", async () => {
    const server = new FakeServer();
    const phone = await Device.start(server);
    await phone.store.write([kit("Tarn 6")]);
    once(server, PUSH, "lose");
    await phone.courier.exchange();
    expect(phone.courier.state.value.server).toBe("unreachable");
    expect(server.journal.size).toBe(1);
    await phone.courier.recount();
    expect(phone.courier.state.value.unsentChanges).toBe(1);
    await phone.courier.exchange();
    expect(server.journal.size).toBe(1);
    expect(phone.courier.state.value.unsentChanges).toBe(0);
    expect(phone.store.get("kit", KIT)?.clashes).toEqual([]);
  });

  it("keeps what is written while a push is under way as unsent (failure 17)", async () => {
    const server = new FakeServer();
    const phone = await Device.start(server);
    await phone.store.write([kit("first")]);
    let release = (): void => undefined;
    let held = false;
    const holding = new Promise<void>((done) => {
      server.hold = (call) => {
        if (call !== PUSH || held) return Promise.resolve();
        held = true;
        done();
        return new Promise((go) => (release = go));
      };
    });
    const exchange = phone.courier.exchange();
    await holding;
    await phone.store.write([kit("second")]);
    expect(server.slots.get(`kit:${KIT}`)?.state.heads).toHaveLength(1);
    release();
    await exchange;
    await phone.courier.exchange();
    const heads = server.slots.get(`kit:${KIT}`)?.state.heads ?? [];
    expect(heads.map((head) => head.set["name"])).toEqual(["second"]);
    expect(phone.store.get("kit", KIT)?.values.name).toBe("second");
  });

  it("parks what the server refuses and sends its neighbours, at every place (failure 6)", async () => {
    for (const bad of [0, 1, 2, 3, 4]) {
      const server = new FakeServer();
      const phone = await Device.start(server);
      server.refuse = (change) => (change.record === idOf(bad) ? "invalid" : null);
      await phone.store.write([0, 1, 2, 3, 4].map((n) => kit(`kit ${n}`, idOf(n))));
      await phone.courier.exchange();
      const { parked, unsentChanges } = phone.courier.state.value;
      expect(parked).toMatchObject([{ record: idOf(bad), problem: { title: "invalid" } }]);
      expect(unsentChanges).toBe(0);
      expect(server.journal.size).toBe(4);
      expect(phone.store.all("kit").map((view) => view.id)).not.toContain(idOf(bad));

      server.refuse = () => null;
      await phone.courier.retryParked(parked[0]!.change);
      expect(server.journal.size).toBe(5);
      expect(phone.courier.state.value.parked).toEqual([]);
      expect(phone.store.all("kit")).toHaveLength(5);
    }
  });

  it("forgets a parked change that a person lets go, with its group", async () => {
    const server = new FakeServer();
    const phone = await Device.start(server);
    server.refuse = (change) => (change.record === idOf(2) ? "invalid" : null);
    await phone.store.write([kit("a", idOf(1)), kit("b", idOf(2))], { together: true });
    await phone.courier.exchange();
    expect(server.journal.size).toBe(0);
    expect(phone.courier.state.value.parked).toMatchObject([{ record: idOf(2), along: 1 }]);
    await phone.courier.dropParked(phone.courier.state.value.parked[0]!.change);
    expect(phone.courier.state.value.parked).toEqual([]);
  });

  it("says why the server will not read a change, and sends the others", async () => {
    const server = new FakeServer();
    const real = server.fetch;
    const answer = '{"type":"/api/problems/invalid","title":"Not valid","status":422,"detail":"name: too long"}';
    const fetch: typeof globalThis.fetch = async (input, init) => {
      const before = server.journal.size;
      const reply = await real(input, init);
      // As a schema in front of the journal would: one bad change spoils the whole request.
      if (server.journal.size === before || !server.journal.has("00000000000000d1.2")) return reply;
      server.journal.delete("00000000000000d1.2");
      return new Response(answer, { status: 422, headers: { "Content-Type": "application/problem+json" } });
    };
    const phone = await Device.start(server, { fetch });
    await phone.store.write([1, 2, 3].map((n) => kit(`kit ${n}`, idOf(n))));
    await phone.courier.exchange();
    const { parked, unsentChanges } = phone.courier.state.value;
    expect(unsentChanges).toBe(0);
    expect(parked).toMatchObject([
      { record: idOf(2), problem: { title: "Not valid", detail: "name: too long" } },
    ]);
  });

  it("never splits a group, and halves what is too large", async () => {
    const server = new FakeServer();
    server.pushMax = 700;
    const phone = await Device.start(server);
    const many = (from: number, count: number) =>
      Array.from({ length: count }, (_, i) => kit(`kit ${from + i}`, idOf(from + i)));
    await phone.store.write(many(1, 500));
    await phone.store.write(many(1001, 600), { together: true });
    await phone.store.write(many(3001, 3));
    await phone.courier.exchange();
    expect(server.journal.size).toBe(1103);
    expect(phone.courier.state.value).toMatchObject({ unsentChanges: 0, parked: [] });
    server.pushMax = 10;
    await phone.store.write(many(5001, 20), { together: true });
    await phone.store.write(many(6001, 1));
    await phone.courier.exchange();
    expect(phone.courier.state.value.parked).toMatchObject([{ along: 19 }]);
    expect(server.journal.size).toBe(1104);
  });

  it("shows two writes that did not know of each other as a clash until one settles it", async () => {
    const server = new FakeServer();
    const phone = await Device.start(server, { clock: "00000000000000d1" });
    const tablet = await Device.start(server, { clock: "00000000000000d2" });
    await phone.store.write([kit("Tarn")]);
    await phone.courier.exchange();
    await tablet.courier.exchange();
    server.nowMs += 1000;
    await phone.store.write([kit("Tarn 6")]);
    await phone.store.write([kit("Tarn 6a")]);
    server.nowMs += 1000;
    await tablet.store.write([kit("Tarn VI")]);
    for (const device of [phone, tablet, phone]) await device.courier.exchange();
    expect(phone.shown(["kit"])).toEqual(tablet.shown(["kit"]));
    const view = phone.store.get("kit", KIT)!;
    expect(view.values.name).toBe("Tarn VI");
    expect(view.clashes.map(({ field, others }) => [field, others.map((o) => o.value)])).toEqual([
      ["name", ["Tarn 6a"]],
    ]);
    await tablet.store.write([kit("Tarn 6")]);
    for (const device of [tablet, phone]) await device.courier.exchange();
    expect(phone.store.get("kit", KIT)).toMatchObject({ values: { name: "Tarn 6" }, clashes: [] });
  });

  it("keeps a record that was deleted here and edited there, and asks", async () => {
    const server = new FakeServer();
    const phone = await Device.start(server, { clock: "00000000000000d1" });
    const tablet = await Device.start(server, { clock: "00000000000000d2" });
    await phone.store.write([kit("Tarn")]);
    for (const device of [phone, tablet]) await device.courier.exchange();
    await phone.store.remove([phone.store.get("kit", KIT)!]);
    expect(phone.store.get("kit", KIT)).toBeUndefined();
    await tablet.store.write([kit("Tarn 6")]);
    for (const device of [phone, tablet, phone]) await device.courier.exchange();
    expect(phone.store.get("kit", KIT)?.deleteAsked).toBe(true);
    await phone.store.settleDelete(phone.store.get("kit", KIT)!, false);
    for (const device of [phone, tablet]) await device.courier.exchange();
    expect(tablet.store.get("kit", KIT)).toBeUndefined();
  });
});

describe("a clock", () => {
  it("that is ahead is put right by the server (failure 12)", async () => {
    const year = 365 * 24 * 3_600_000;
    for (const off of [3_600_000, year, -year * 50]) {
      const server = new FakeServer();
      const phone = await Device.start(server, { nowMs: () => server.nowMs + off });
      await phone.store.write([kit("ahead")]);
      await phone.courier.exchange();
      const [head] = server.slots.get(`kit:${KIT}`)!.state.heads;
      expect(parseInt(head!.stamp.slice(0, 12), 16)).toBeLessThanOrEqual(server.nowMs + 60_000);
      const clock = await phone.outbox.clock();
      expect(clock!.offsetMs).toBe(-off);
      // The next write is stamped by the server's time.
      await phone.store.write([kit("right")]);
      const [unsent] = await phone.outbox.unsent();
      const ms = parseInt(unsent!.stamp.slice(0, 12), 16);
      expect(Math.abs(ms - server.nowMs)).toBeLessThan(2_000);
      await phone.courier.exchange();
      expect(phone.store.get("kit", KIT)).toMatchObject({ values: { name: "right" }, clashes: [] });
    }
  });

  it("that is a copy of another is left for a new one (failure 33)", async () => {
    const server = new FakeServer();
    server.clocks = new Set(["00000000000000d1"]);
    const phone = await Device.start(server, { seed: 1 });
    const copy = await Device.start(server, { seed: 2 });
    await phone.store.write([kit("from the phone", idOf(1)), kit("both", idOf(3))]);
    await copy.store.write([kit("from the copy", idOf(2)), kit("copy's", idOf(4))], { together: true });
    await copy.store.write([kit("copy's again", idOf(4))]);
    await phone.courier.exchange();
    await copy.courier.exchange();
    expect(copy.courier.state.value).toMatchObject({ server: "reached", unsentChanges: 0, parked: [] });
    expect(server.journal.size).toBe(5);
    expect(server.clocks.size).toBe(2);
    await phone.courier.exchange();
    const names = phone.store.all("kit").map((view) => view.values.name).sort();
    expect(names).toEqual(["both", "copy's again", "from the copy", "from the phone"]);
    // One of two writes went through under its old id, so the other does not know of it: shown,
    // kept.
    expect(copy.store.get("kit", idOf(4))).toMatchObject({
      values: { name: "copy's again" }, clashes: [{ others: [{ value: "copy's" }] }],
    });
    // Its further writes are of the new clock, and go through.
    await copy.store.write([kit("later", idOf(5))]);
    await copy.courier.exchange();
    expect(server.journal.size).toBe(6);
  });

  it("that was left for a new one is not taken up again at the next start (failure 33)", async () => {
    const server = new FakeServer();
    const browser = new Browser();
    const phone = await Device.start(server, { clock: "00000000000000d1" });
    await phone.store.write([kit("of the phone", idOf(1))]);
    await phone.courier.exchange();
    const copy = await Device.start(server, { clock: "00000000000000d1", seed: 7, browser });
    await copy.store.write([kit("of the copy", idOf(2))]);
    await copy.courier.exchange();
    const taken = (await copy.outbox.clock())!;
    expect(taken.clock).not.toBe("00000000000000d1");
    copy.kill();
    // What the profile remembers of the pairing still names the old clock.
    const again = await Device.start(server, { clock: "00000000000000d1", browser });
    expect(await again.outbox.clock()).toEqual(taken);
    await again.store.write([kit("later", idOf(3))]);
    await again.courier.exchange();
    expect(again.courier.state.value).toMatchObject({ unsentChanges: 0, parked: [] });
    expect(server.journal.size).toBe(3);
  });

  it("that another tab has renamed meanwhile makes no clash with itself", async () => {
    const server = new FakeServer();
    const browser = new Browser();
    const one = await Device.start(server, { browser, deaf: true });
    await one.store.write([kit("Tarn")]);
    const two = await Device.start(server, { browser });
    await two.outbox.adopt({ id: "paired again", clock: "00000000000000ee" });
    // The first tab has not heard of it and still knows its change by its old name.
    await one.store.write([kit("Tarn 6")]);
    await two.store.catchUp();
    await two.courier.exchange();
    const heads = server.slots.get(`kit:${KIT}`)?.state.heads ?? [];
    expect(heads.map(({ id, set }) => [id, set["name"]])).toEqual([["00000000000000ee.2", "Tarn 6"]]);
  });

  it("that the server has forgotten is replaced, once", async () => {
    const server = new FakeServer();
    server.clocks = new Set();
    const phone = await Device.start(server);
    await phone.store.write([kit("kept")]);
    await phone.courier.exchange();
    expect(server.journal.size).toBe(1);
    expect(phone.courier.state.value.parked).toEqual([]);
  });
});

describe("a server that was restored", () => {
  it("gets back what it has lost, though more was written since (failure 7)", async () => {
    const server = new FakeServer();
    const phone = await Device.start(server, { clock: "00000000000000d1" });
    const tablet = await Device.start(server, { clock: "00000000000000d2" });
    await phone.store.write([kit("before", idOf(1))]);
    await phone.courier.exchange();
    const copy = server.backup();
    await phone.store.write([kit("lost 1", idOf(2))]);
    await phone.store.write([kit("lost 2", idOf(2))]);
    await phone.courier.exchange();
    await tablet.courier.exchange();
    server.restore(copy);
    // Others write more than was lost, so that the numbers alone look right.
    const desk = await Device.start(server, { clock: "00000000000000d3" });
    await desk.store.write([4, 5, 6, 7, 8].map((n) => kit(`desk ${n}`, idOf(n))));
    await desk.courier.exchange();
    await phone.store.write([kit("unsent", idOf(3))]);
    for (const device of [phone, tablet, desk, phone]) await device.courier.exchange();
    expect(server.journal.size).toBe(9);
    for (const device of [phone, tablet, desk]) {
      expect(device.shown(["kit"])).toEqual(desk.shown(["kit"]));
      expect(device.store.get("kit", idOf(2))).toMatchObject({
        values: { name: "lost 2" }, clashes: [], unsent: false,
      });
      expect(device.courier.state.value).toMatchObject({ server: "reached", unsentChanges: 0 });
    }
  });

  it("gets the bytes of photos back too", async () => {
    const server = new FakeServer();
    const phone = await Device.start(server);
    const copy = server.backup();
    await phone.photos.add(new Blob(["bench"]), { build: idOf(1), step: null });
    await phone.courier.exchange();
    expect(server.blobs.size).toBe(1);
    server.restore(copy);
    await phone.courier.exchange();
    await phone.courier.exchange();
    expect(server.blobs.size).toBe(1);
    expect(server.journal.size).toBe(1);
  });

  it("makes a device that was away too long read everything again (failure 8)", async () => {
    const server = new FakeServer();
    const phone = await Device.start(server, { clock: "00000000000000d1" });
    const tablet = await Device.start(server, { clock: "00000000000000d2" });
    await tablet.store.write([kit("gone for good", idOf(1))]);
    for (const device of [tablet, phone]) await device.courier.exchange();
    await tablet.store.remove([tablet.store.get("kit", idOf(1))!]);
    await tablet.store.write([kit("stays", idOf(2))]);
    await tablet.courier.exchange();
    // The server has cleared the deleted record away.
    server.slots.delete(`kit:${idOf(1)}`);
    server.floor = server.seq;
    await phone.store.write([kit("mine", idOf(3))]);
    await phone.courier.exchange();
    expect(phone.store.all("kit").map((view) => view.id).sort()).toEqual([idOf(2), idOf(3)]);
    expect(phone.courier.state.value).toMatchObject({ server: "reached", unsentChanges: 0 });
  });
});

describe("a first pull", () => {
  it("that dies after any page leaves nothing mixed (failure 14)", async () => {
    const server = new FakeServer();
    const desk = await Device.start(server, { clock: "00000000000000d3" });
    await desk.store.write(Array.from({ length: 7 }, (_, i) => kit(`kit ${i}`, idOf(i + 1))));
    await desk.courier.exchange();
    server.pageLimit = 2;
    for (const diesAfter of [1, 2, 3]) {
      const phone = await Device.start(server, { clock: "00000000000000d1" });
      let pages = 0;
      server.fault = (call) => {
        if (call !== PULL) return undefined;
        pages += 1;
        return pages > diesAfter ? "drop" : undefined;
      };
      await phone.courier.exchange();
      expect(phone.store.all("kit")).toEqual([]);
      expect(await phone.mirror.cursor()).toBeNull();
      server.fault = () => undefined;
      // A write between the pages of the next try is in it all the same.
      let wrote = false;
      server.hold = async (call) => {
        if (call !== PULL || wrote) return;
        wrote = true;
        server.pageLimit = 2;
        await desk.store.write([kit(`after ${diesAfter}`, idOf(1))]);
        server.hold = () => Promise.resolve();
        await desk.courier.exchange();
      };
      await phone.courier.exchange();
      expect(phone.shown(["kit"])).toEqual(desk.shown(["kit"]));
    }
  });

  it("keeps rows and cursor together when a page cannot be stored (failure 18)", async () => {
    const server = new FakeServer();
    const desk = await Device.start(server, { clock: "00000000000000d3" });
    const phone = await Device.start(server, { clock: "00000000000000d1" });
    await desk.store.write([kit("one", idOf(1))]);
    await desk.courier.exchange();
    await phone.courier.exchange();
    const before = await phone.mirror.cursor();
    await desk.store.write([kit("two", idOf(2)), kit("three", idOf(3))]);
    await desk.courier.exchange();
    const put = IDBObjectStore.prototype.put;
    let rows = 0;
    IDBObjectStore.prototype.put = function (this: IDBObjectStore, value: unknown, key?: IDBValidKey) {
      if (this.name === "records" && (rows += 1) === 2) {
        throw new DOMException("No room", "QuotaExceededError");
      }
      return key === undefined ? put.call(this, value) : put.call(this, value, key);
    };
    try {
      await phone.courier.exchange();
    } finally {
      IDBObjectStore.prototype.put = put;
    }
    expect(phone.courier.state.value.storage).toBe("full");
    expect(await phone.mirror.cursor()).toEqual(before);
    const { records } = await phone.mirror.scope("");
    expect(records).toHaveLength(1);
    await phone.courier.exchange();
    expect(phone.shown(["kit"])).toEqual(desk.shown(["kit"]));
  });
});

describe("who answers", () => {
  it("is not believed when it is a captive portal (failure 29)", async () => {
    const server = new FakeServer();
    const phone = await Device.start(server);
    await phone.store.write([kit("Tarn")]);
    server.fault = () => "html";
    await phone.courier.exchange();
    expect(phone.courier.state.value).toMatchObject({ server: "unreachable", unsentChanges: 1 });
    expect(server.log.filter((call) => call === PUSH)).toEqual([]);
    server.fault = (call) => (call === PUSH ? "html" : undefined);
    await phone.courier.exchange();
    expect(phone.courier.state.value).toMatchObject({ server: "unreachable", unsentChanges: 1 });
    server.fault = () => undefined;
    await phone.courier.exchange();
    expect(phone.courier.state.value.unsentChanges).toBe(0);
  });

  it("may say that the device is not paired: everything is kept (failure 31)", async () => {
    const server = new FakeServer();
    const phone = await Device.start(server);
    await phone.store.write([kit("Tarn")]);
    server.unpaired = true;
    await phone.courier.exchange();
    expect(phone.courier.state.value).toMatchObject({ server: "unpaired", unsentChanges: 1 });
    expect(phone.store.get("kit", KIT)?.values.name).toBe("Tarn");
    // Paired to another workshop: this outbox is not for it.
    server.unpaired = false;
    server.workshop = idOf(0xbb);
    await phone.courier.exchange();
    expect(phone.courier.state.value).toMatchObject({ server: "unpaired", unsentChanges: 1 });
    expect(server.journal.size).toBe(0);
    server.workshop = "00000000-0000-4000-8000-000000000001";
    await phone.courier.exchange();
    expect(phone.courier.state.value).toMatchObject({ server: "reached", unsentChanges: 0 });
  });

  it("is not believed when it hands out another workshop's records (failure 31)", async () => {
    const server = new FakeServer();
    const desk = await Device.start(server, { clock: "00000000000000d2" });
    await desk.store.write([kit("of another")]);
    await desk.courier.exchange();
    server.workshop = idOf(0xbb);
    server.looks = false;
    const phone = await Device.start(server);
    await phone.courier.exchange();
    expect(phone.courier.state.value.server).toBe("unpaired");
    expect(phone.store.all("kit")).toEqual([]);
  });

  it("gets nothing of a workshop that is no longer the browser's own (failure 31)", async () => {
    const server = new FakeServer();
    const phone = await Device.start(server, { isCurrent: () => Promise.resolve(false) });
    await phone.store.write([kit("Tarn")]);
    await phone.courier.exchange();
    expect(phone.courier.state.value).toMatchObject({ server: "unpaired", unsentChanges: 1 });
    expect(server.journal.size).toBe(0);
  });

  it("may want a newer app: everything is kept", async () => {
    const server = new FakeServer();
    const phone = await Device.start(server);
    await phone.store.write([kit("Tarn")]);
    server.tooOld = true;
    await phone.courier.exchange();
    expect(phone.courier.state.value).toMatchObject({ server: "tooOld", unsentChanges: 1 });
  });
});

describe("two tabs", () => {
  it("do not push the same changes twice (failure 19)", async () => {
    const server = new FakeServer();
    const browser = new Browser();
    const one = await Device.start(server, { browser });
    const two = await Device.start(server, { browser });
    await one.store.write(Array.from({ length: 20 }, (_, i) => kit(`kit ${i}`, idOf(i + 1))));
    await Promise.all([one.courier.exchange(), two.courier.exchange()]);
    expect(server.log.filter((call) => call === PUSH)).toHaveLength(1);
    expect(server.journal.size).toBe(20);
    expect(one.shown(["kit"])).toEqual(two.shown(["kit"]));
    expect(two.store.all("kit").every((view) => !view.unsent)).toBe(true);
  });

  it("hand the turn on when one dies with it (failure 19)", async () => {
    const server = new FakeServer();
    const browser = new Browser();
    const one = await Device.start(server, { browser });
    await one.store.write([kit("Tarn")]);
    server.hold = () => new Promise(() => undefined);
    void one.courier.exchange();
    await new Promise((done) => setTimeout(done, 20));
    one.kill();
    server.hold = () => Promise.resolve();
    const two = await Device.start(server, { browser });
    await two.courier.exchange();
    expect(two.courier.state.value).toMatchObject({ server: "reached", unsentChanges: 0 });
  });

  it("see each other's writes at once", async () => {
    const server = new FakeServer();
    const browser = new Browser();
    const one = await Device.start(server, { browser });
    const two = await Device.start(server, { browser });
    await one.store.write([kit("Tarn 6")]);
    await expect.poll(() => two.store.get("kit", KIT)?.values.name).toBe("Tarn 6");
    await two.store.write([kit("Tarn 7")]);
    await expect.poll(() => one.store.get("kit", KIT)?.values.name).toBe("Tarn 7");
    expect(one.store.get("kit", KIT)?.clashes).toEqual([]);
  });
});

describe("a tab that slept", () => {
  it("hear of a record of a build that they have not opened, with what lies under it", async () => {
    const server = new FakeServer();
    const browser = new Browser();
    const section = { type: "section" as const, id: idOf(5), set: { kit: KIT, order: "a", title: "x" } };
    const one = await Device.start(server, { browser });
    const two = await Device.start(server, { browser });
    await one.store.write([kit("Tarn"), section]);
    await one.courier.exchange();
    await one.store.load(KIT);
    await one.store.write([{ type: "section", id: idOf(5), set: { title: "y" } }]);
    await expect.poll(() => two.store.get("section", idOf(5))?.values.title).toBe("y");
    await two.store.write([{ type: "section", id: idOf(5), set: { title: "z", order: "b" } }]);
    await two.courier.exchange();
    await one.courier.exchange();
    const heads = server.slots.get(`section:${idOf(5)}`)?.state.heads ?? [];
    expect(heads.filter(({ set }) => "order" in set)).toHaveLength(1);
  });

  it("catches up with what another one has pulled", async () => {
    const server = new FakeServer();
    const browser = new Browser();
    const desk = await Device.start(server, { clock: "00000000000000d2" });
    const section = (id: number) => ({
      type: "section" as const, id: idOf(id), set: { kit: KIT, order: "a" },
    });
    const asleep = await Device.start(server, { browser, deaf: true });
    const drowsy = await Device.start(server, { browser, deaf: true });
    const awake = await Device.start(server, { browser });
    await desk.store.write([kit("Tarn 6"), section(1)]);
    await desk.courier.exchange();
    await awake.courier.exchange();
    await awake.store.write([kit("Tarn 7")]);
    await awake.courier.exchange();
    expect(asleep.store.all("kit")).toEqual([]);
    await asleep.courier.exchange();
    expect(asleep.shown(["kit"])).toEqual(awake.shown(["kit"]));
    // Opening a kit is enough to see that the mirror has moved.
    await drowsy.store.load(KIT);
    expect(drowsy.shown(["kit"])).toEqual(awake.shown(["kit"]));
    expect(drowsy.store.all("section")).toHaveLength(1);
  });
});

describe("a page that is killed", () => {
  it("at any request of an exchange loses and doubles nothing (failure 16)", async () => {
    for (let at = 1; at <= 9; at += 1) {
      for (const fault of ["lose", "drop"] as const) {
        const server = new FakeServer();
        const browser = new Browser();
        const phone = await Device.start(server, { browser });
        await phone.store.write([kit("a", idOf(1)), kit("b", idOf(2))], { together: true });
        await phone.photos.add(new Blob(["bench"]), { build: idOf(9), step: null });
        let calls = 0;
        server.fault = () => ((calls += 1) >= at ? fault : undefined);
        await phone.courier.exchange();
        phone.kill();
        server.fault = () => undefined;
        const again = await Device.start(server, { browser });
        await again.store.load(idOf(9));
        expect(again.store.all("kit")).toHaveLength(2);
        expect(again.store.all("photo")).toHaveLength(1);
        await again.courier.exchange();
        expect([...server.journal.keys()].sort()).toEqual([1, 2, 3].map((n) => `00000000000000d1.${n}`));
        expect(server.blobs.size).toBe(1);
        expect(again.courier.state.value).toMatchObject({ unsentChanges: 0, unsentPhotos: 0 });
        expect(again.store.all("kit").flatMap((view) => view.clashes)).toEqual([]);
      }
    }
  });
});
