/** Records in memory: what screens see of them, and when they are told. */
import { computed, effect } from "@preact/signals";
import { describe, expect, it } from "vitest";
import { StorageFailure } from "../src/db/failure";
import { Browser, Device, idOf } from "./device";
import { FakeServer } from "./fake-server";

const KIT = idOf(0x100);
const OTHER = idOf(0x200);
const step = (n: number, kit = KIT, more = {}) => ({
  type: "step" as const, id: idOf(n), set: { kit, number: String(n), order: `a${n}`, ...more },
});

async function filled(): Promise<{ server: FakeServer; device: Device }> {
  const server = new FakeServer();
  const desk = await Device.start(server, { clock: "00000000000000d2" });
  await desk.store.write([
    { type: "kit", id: KIT, set: { name: "Tarn 6" } },
    { type: "kit", id: OTHER, set: { name: "Tarn 8" } },
    step(1), step(2), step(3), step(4, OTHER),
    { type: "bag", id: idOf(11), set: { kit: KIT, number: "1", order: "a", code: "7K3QX2AB" } },
    { type: "bag", id: idOf(12), set: { kit: OTHER, number: "1", order: "a", code: "7K3QX2AB" } },
  ]);
  await desk.courier.exchange();
  const device = await Device.start(server, { clock: "00000000000000d1" });
  await device.courier.exchange();
  return { server, device };
}

describe("the store", () => {
  it("holds the workshop's own records at once, and a kit's when it is loaded", async () => {
    const { device } = await filled();
    const { store } = device;
    expect(store.all("kit")).toHaveLength(2);
    expect(store.all("step")).toHaveLength(0);
    await Promise.all([store.load(KIT), store.load(KIT)]);
    expect(store.where("step", "kit", KIT)).toHaveLength(3);
    expect(store.where("step", "kit", OTHER)).toHaveLength(0);
    await store.load(OTHER);
    expect(store.where("step", "kit", OTHER)).toHaveLength(1);
    expect(store.get("step", idOf(4))?.values.number).toBe("4");
  });

  it("shows no record that lacks what it must have", async () => {
    const { device } = await filled();
    await device.store.write([{ type: "note", id: idOf(50), set: { build: idOf(9) } }]);
    expect(device.store.get("note", idOf(50))).toBeUndefined();
    await device.store.write([
      { type: "note", id: idOf(50), set: { text: "x", at: "2026-05-04T18:30:00.000Z" } },
    ]);
    expect(device.store.get("note", idOf(50))?.values.text).toBe("x");
  });

  it("tells who looks at a type, and gives equal lists as the same list", async () => {
    const { device } = await filled();
    const { store } = device;
    await store.load(KIT);
    await store.load(OTHER);
    let looked = 0;
    const ofKit = computed(() => store.where("step", "kit", KIT));
    const stop = effect(() => {
      looked += 1;
      void ofKit.value;
    });
    expect(looked).toBe(1);
    await store.write([{ type: "kit", id: KIT, set: { name: "x" } }]);
    expect(looked).toBe(1);
    // Another kit's step: the list of this kit stays the same one.
    await store.write([{ type: "step", id: idOf(4), set: { title: "x" } }]);
    expect(looked).toBe(1);
    await store.write([{ type: "step", id: idOf(2), set: { title: "Axle" } }]);
    expect(looked).toBe(2);
    expect(ofKit.value.map((view) => view.values.title)).toEqual([undefined, "Axle", undefined]);
    await store.write([step(5)]);
    expect(ofKit.value).toHaveLength(4);
    await store.remove([store.get("step", idOf(1))!]);
    expect(ofKit.value.map((view) => view.values.number)).toEqual(["2", "3", "5"]);
    // A record that moves is found where it is now.
    await store.write([{ type: "step", id: idOf(5), set: { kit: OTHER } }]);
    expect(ofKit.value).toHaveLength(2);
    expect(store.where("step", "kit", OTHER)).toHaveLength(2);
    stop();
  });

  it("finds by any value of a list", async () => {
    const { device } = await filled();
    await device.store.load(KIT);
    await device.store.write([{ type: "step", id: idOf(1), set: { bags: [idOf(11), idOf(12)] } }]);
    expect(device.store.where("step", "bags", idOf(12)).map((view) => view.id)).toEqual([idOf(1)]);
  });

  it("finds the bag of a label in any kit, loaded or not, as it is now", async () => {
    const { device } = await filled();
    const found = async (code: string): Promise<string[]> =>
      (await device.store.bagsByCode(code)).map((view) => view.id).sort();
    expect(await found("7K3QX2AB")).toEqual([idOf(11), idOf(12)]);
    expect(await found("ABCD1234")).toEqual([]);
    await device.store.write([{ type: "bag", id: idOf(12), set: { code: "ABCD1234" } }]);
    expect(await found("7K3QX2AB")).toEqual([idOf(11)]);
    expect(await found("ABCD1234")).toEqual([idOf(12)]);
    await device.courier.exchange();
    expect(await found("ABCD1234")).toEqual([idOf(12)]);
  });

  it("finds the bags of a barcode in any kit, loaded or not, as they are now", async () => {
    const { server, device } = await filled();
    const { store } = device;
    const barcode = (n: number, bag: number, kit: string, text: string) => ({
      type: "barcode" as const, id: idOf(n), set: { kit, bag: idOf(bag), text },
    });
    const found = async (text: string, of = device): Promise<string[]> =>
      (await of.store.bagsByBarcode(text)).map((view) => view.id).sort();
    await store.write([
      barcode(21, 11, KIT, "06291041500213"),
      barcode(22, 12, OTHER, "06291041500213"),
      barcode(23, 12, OTHER, "CMW-T8-01"),
    ]);
    expect(await found("06291041500213")).toEqual([idOf(11), idOf(12)]);
    await device.courier.exchange();
    // A device that has opened neither kit, without a network.
    const phone = await Device.start(server, { clock: "00000000000000d3" });
    await phone.courier.exchange();
    expect(phone.store.all("barcode")).toEqual([]);
    expect(await found("06291041500213", phone)).toEqual([idOf(11), idOf(12)]);
    expect(await found("CMW-T8-01", phone)).toEqual([idOf(12)]);
    expect(await found("7K3QX2AB", phone)).toEqual([]);
    // Forgotten here and not sent yet; and a bag that is gone takes its barcodes along.
    await phone.store.load(KIT);
    await phone.store.remove([phone.store.get("barcode", idOf(21))!]);
    expect(await found("06291041500213", phone)).toEqual([idOf(12)]);
    await phone.store.load(OTHER);
    await phone.store.remove([phone.store.get("bag", idOf(12))!]);
    expect(await found("CMW-T8-01", phone)).toEqual([]);
  });

  it("supersedes what the device had of a record that was not in memory", async () => {
    const { server, device } = await filled();
    await device.store.write([{ type: "step", id: idOf(1), set: { number: "1a" } }]);
    await device.courier.exchange();
    const { heads } = server.slots.get(`step:${idOf(1)}`)!.state;
    expect(heads.filter((head) => "number" in head.set)).toHaveLength(1);
  });

  it("supersedes only what was on the screen when the write was asked for", async () => {
    const { device } = await filled();
    const { store } = device;
    const heads = [{
      id: "00000000000000d2.99", stamp: "01a3185c5000000900000000000000d2", set: { name: "from the desk" },
    }];
    // The tap comes while the desk's write is on its way into memory.
    const moved = store.pulled([{ type: "kit", id: KIT, heads }], { ...store.cursor!, seq: 99 }, false);
    const tap = store.write([{ type: "kit", id: KIT, set: { name: "from the phone" } }]);
    await Promise.all([moved, tap]);
    const values = store.get("kit", KIT)!.clashes.flatMap(({ shown, others }) =>
      [shown, ...others].map((one) => one.value));
    expect(values.sort()).toEqual(["from the desk", "from the phone"]);
  });

  it("makes no clash of a device's own quick writes", async () => {
    const { device } = await filled();
    await Promise.all(["a", "b", "c", "d"].map((name) =>
      device.store.write([{ type: "kit", id: KIT, set: { name } }])));
    expect(device.store.get("kit", KIT)).toMatchObject({ values: { name: "d" }, clashes: [] });
    await device.courier.exchange();
    expect(device.store.get("kit", KIT)).toMatchObject({ values: { name: "d" }, clashes: [] });
  });

  it("shows nothing that was not saved, and goes on (failures 23, 27)", async () => {
    const { device } = await filled();
    const add = IDBObjectStore.prototype.add;
    IDBObjectStore.prototype.add = () => {
      throw new DOMException("No room", "QuotaExceededError");
    };
    const write = device.store.write([{ type: "kit", id: KIT, set: { name: "lost" } }]);
    await expect(write).rejects.toBeInstanceOf(StorageFailure);
    IDBObjectStore.prototype.add = add;
    expect(device.store.get("kit", KIT)?.values.name).toBe("Tarn 6");
    await device.store.write([{ type: "kit", id: KIT, set: { name: "kept" } }]);
    expect(device.store.get("kit", KIT)?.values.name).toBe("kept");
  });

  it("has everything again after the page was killed, offline", async () => {
    const server = new FakeServer();
    const browser = new Browser();
    const one = await Device.start(server, { browser });
    await one.store.write([{ type: "kit", id: KIT, set: { name: "sent" } }, step(1)]);
    await one.courier.exchange();
    await one.store.write([{ type: "kit", id: KIT, set: { name: "unsent" } }, step(2)]);
    one.kill();
    server.fault = () => "drop";
    const again = await Device.start(server, { browser });
    await again.store.load(KIT);
    expect(again.store.get("kit", KIT)).toMatchObject({ values: { name: "unsent" }, unsent: true });
    expect(again.store.where("step", "kit", KIT)).toHaveLength(2);
    expect(again.courier.state.value.unsentChanges).toBe(2);
  });

  it("refuses writes while no workshop is open", async () => {
    const { device } = await filled();
    await device.store.detach();
    expect(device.store.all("kit")).toEqual([]);
    await expect(device.store.write([{ type: "kit", id: KIT, set: { name: "x" } }])).rejects.toThrow();
  });
});
