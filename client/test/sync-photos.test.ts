/** Photos: kept with their record, sent when there is a network, shown from the nearest place. */
import { createHash } from "node:crypto";
import { openDB } from "idb";
import { describe, expect, it } from "vitest";
import { PictureRefused, type Draw } from "../src/sync/photos";
import { SyncKeeping } from "../src/sync/keeping";
import { Device, idOf, plainDraw, sha256 } from "./device";
import { FakeServer, WORKSHOP } from "./fake-server";

const BUILD = idOf(0xb1);
const file = (text: string): Blob => new Blob([text], { type: "image/png" });
const nameOf = (text: string): string =>
  createHash("sha256").update(new TextEncoder().encode(text)).digest("hex");
const BLOB = nameOf("bench@2560");
const PUT = `PUT /api/blobs/${BLOB}`;

describe("a photographed page", () => {
  const KIT = idOf(0xa1);
  const page = (text = "page") => ({
    type: "image/jpeg" as const,
    bytes: new TextEncoder().encode(text).buffer,
    widthPx: 1811,
    heightPx: 2560,
  });
  const PAGE = nameOf("page");
  const PUT_PAGE = `PUT /api/blobs/${PAGE}`;
  const about = { kit: KIT, number: "12", order: "V", steps: [{ id: idOf(7), frame: [0, 0, 1, 0.5] }] };
  const steps = [
    { type: "kit" as const, id: KIT, set: { name: "Tarn 6" } },
    { type: "step" as const, id: idOf(7), set: { kit: KIT, number: "1.1", order: "a" } },
  ];

  it("is kept with its bytes and its steps in one transaction, and shown at once", async () => {
    const server = new FakeServer();
    const phone = await Device.start(server);
    await phone.store.write(steps);
    await phone.store.load(KIT);
    const id = await phone.photos.addPage(page(), about);
    expect(phone.store.get("page", id)?.values).toEqual({
      kit: KIT, number: "12", order: "V", blob: PAGE, width_px: 1811, height_px: 2560,
      device: "00000000-0000-4000-8000-0000000000dd",
    });
    expect(phone.store.get("step", idOf(7))?.values).toMatchObject({ page: id, frame: [0, 0, 1, 0.5] });
    expect((await phone.outbox.photo(PAGE))?.state).toBe("pending");
    const written = await phone.outbox.unsent();
    expect(new Set(written.slice(-2).map(({ group }) => group?.first)).size).toBe(1);
    expect(await phone.photos.show(PAGE, "full")).not.toBeNull();
    // Sent, and its bytes gone from the outbox: still shown here without a network.
    await phone.courier.exchange();
    expect(await phone.outbox.photo(PAGE)).toBeUndefined();
    server.fault = () => "drop";
    expect(await phone.photos.show(PAGE, "full")).not.toBeNull();
  });

  it("leaves nothing behind when there is no room", async () => {
    const phone = await Device.start(new FakeServer());
    await phone.store.write(steps);
    await phone.store.load(KIT);
    const put = IDBObjectStore.prototype.put;
    IDBObjectStore.prototype.put = function (this: IDBObjectStore, ...rest: Parameters<typeof put>) {
      if (this.name === "photos") {
        this.transaction.abort();
        throw new DOMException("No room", "QuotaExceededError");
      }
      return put.apply(this, rest);
    };
    await expect(phone.photos.addPage(page(), about)).rejects.toMatchObject({ trouble: "full" });
    IDBObjectStore.prototype.put = put;
    expect(phone.store.all("page")).toEqual([]);
    expect(phone.store.get("step", idOf(7))?.values.page).toBeUndefined();
    await phone.photos.addPage(page(), about);
    expect(phone.store.all("page")).toHaveLength(1);
  });

  it("is 'still on the phone' for others until its bytes have arrived", async () => {
    const server = new FakeServer();
    const phone = await Device.start(server, { clock: "00000000000000d1" });
    const tablet = await Device.start(server, { clock: "00000000000000d2" });
    await phone.store.write(steps);
    const id = await phone.photos.addPage(page(), about);
    server.fault = (call) => (call === PUT_PAGE ? "drop" : undefined);
    await phone.courier.exchange();
    await tablet.courier.exchange();
    await tablet.store.load(KIT);
    expect(tablet.store.get("page", id)?.values.stored).toBeUndefined();
    expect(await tablet.photos.show(PAGE, "full")).toBeNull();
    server.fault = () => undefined;
    await phone.courier.exchange();
    expect(await tablet.photos.show(PAGE, "full")).not.toBeNull();
  });

  it("that the server will not take goes from every step with its record", async () => {
    const server = new FakeServer();
    const phone = await Device.start(server);
    await phone.store.write(steps);
    await phone.store.load(KIT);
    const id = await phone.photos.addPage(page(), about);
    await phone.outbox.parkPhoto(PAGE, { type: "/api/problems/not-a-picture", title: "No picture" });
    await phone.courier.dropParked(`photo:${PAGE}`);
    expect(phone.store.get("page", id)).toBeUndefined();
    expect(await phone.outbox.photo(PAGE)).toBeUndefined();
  });

  it("is held as it came from the camera until it is kept or let go, across a restart", async () => {
    const server = new FakeServer();
    const phone = await Device.start(server);
    expect(await phone.photos.held("page/k")).toBeNull();
    await phone.photos.hold("page/k", file("raw"));
    const again = await Device.start(server, { browser: phone.browser });
    expect(await (await again.photos.held("page/k"))?.text()).toBe("raw");
    await again.photos.letGo("page/k");
    expect(await again.photos.held("page/k")).toBeNull();
  });
});

describe("a photo", () => {
  it("is shown at once, and its bytes stay until the server has them (failure 34)", async () => {
    const server = new FakeServer();
    const phone = await Device.start(server);
    await phone.store.load(BUILD);
    await phone.photos.add(file("bench"), { build: BUILD, step: idOf(7) });
    const [view] = phone.store.where("photo", "build", BUILD);
    expect(view!.values).toMatchObject({
      blob: BLOB, step: idOf(7), media_type: "image/jpeg", width_px: 2560, size_bytes: 10,
    });
    for (const size of ["thumb", "preview", "full"] as const) {
      expect(await phone.photos.show(BLOB, size)).toMatchObject({ url: "blob:x" });
    }
    expect(server.log).toEqual([]);
    server.fault = (call) => (call === PUT ? "lose" : undefined);
    await phone.courier.exchange();
    expect(phone.courier.state.value).toMatchObject({ unsentChanges: 0, unsentPhotos: 1 });
    expect((await phone.outbox.photo(BLOB))?.bytes.byteLength).toBe(10);
    server.fault = () => undefined;
    await phone.courier.exchange();
    expect(phone.courier.state.value.unsentPhotos).toBe(0);
    expect(await phone.outbox.photo(BLOB)).toBeUndefined();
    expect(server.blobs.size).toBe(1);
    // Offline it still shows here.
    server.fault = () => "drop";
    expect(await phone.photos.show(BLOB, "full")).not.toBeNull();
  });

  it("is 'still on the phone' for others until it has arrived, then fetched once", async () => {
    const server = new FakeServer();
    const phone = await Device.start(server, { clock: "00000000000000d1" });
    const tablet = await Device.start(server, { clock: "00000000000000d2" });
    await tablet.store.load(BUILD);
    await phone.photos.add(file("bench"), { build: BUILD, step: null });
    server.fault = (call) => (call === PUT ? "drop" : undefined);
    await phone.courier.exchange();
    await tablet.courier.exchange();
    expect(tablet.store.all("photo")).toHaveLength(1);
    expect(await tablet.photos.show(BLOB, "thumb")).toBeNull();
    server.fault = () => undefined;
    await phone.courier.exchange();
    server.log.length = 0;
    const shown = await Promise.all([1, 2, 3].map(() => tablet.photos.show(BLOB, "thumb")));
    expect(shown.every((one) => one !== null)).toBe(true);
    expect(server.log).toEqual([`GET /api/blobs/${BLOB}`]);
    server.fault = () => "drop";
    expect(await tablet.photos.show(BLOB, "full")).not.toBeNull();
  });

  it("that the server will not take is parked with its bytes, and may be tried again", async () => {
    const server = new FakeServer();
    const phone = await Device.start(server);
    await phone.photos.add(file("bench"), { build: BUILD, step: null });
    const fetch = server.fetch;
    const refusing = await Device.start(server, {
      browser: phone.browser,
      fetch: (input, init) =>
        init?.method === "PUT"
          ? Promise.resolve(new Response('{"type":"/api/problems/not-a-picture","title":"No picture","status":415}', {
              status: 415, headers: { "Content-Type": "application/problem+json" },
            }))
          : fetch(input, init),
    });
    await refusing.courier.exchange();
    const { parked, unsentPhotos } = refusing.courier.state.value;
    expect(unsentPhotos).toBe(0);
    expect(parked).toMatchObject([{ type: "photo", set: { blob: BLOB }, problem: { title: "No picture" } }]);
    await phone.courier.retryParked(parked[0]!.change);
    expect(server.blobs.size).toBe(1);
    expect(phone.courier.state.value.parked).toEqual([]);
  });

  it("that a person lets go is no longer said to be on this device", async () => {
    const server = new FakeServer();
    const phone = await Device.start(server);
    await phone.store.load(BUILD);
    await phone.photos.add(file("bench"), { build: BUILD, step: null });
    await phone.outbox.parkPhoto(BLOB, { type: "x", title: "No picture" });
    await phone.courier.exchange();
    const [parked] = phone.courier.state.value.parked;
    await phone.courier.dropParked(parked!.change);
    expect(await phone.outbox.photo(BLOB)).toBeUndefined();
    expect(phone.store.all("photo")).toEqual([]);
    await phone.courier.exchange();
    expect(phone.courier.state.value).toMatchObject({ parked: [], unsentChanges: 0 });
    const tablet = await Device.start(server, { clock: "00000000000000d2" });
    await tablet.store.load(BUILD);
    await tablet.courier.exchange();
    expect(tablet.store.all("photo")).toEqual([]);
  });

  it("of the same picture as a refused one keeps its bytes when that one is let go", async () => {
    const server = new FakeServer();
    const phone = await Device.start(server);
    await phone.photos.add(file("bench"), { build: BUILD, step: idOf(1) });
    await phone.photos.add(file("bench"), { build: BUILD, step: idOf(2) });
    server.refuse = (change) => (change.set["step"] === idOf(1) ? "invalid" : null);
    server.fault = (call) => (call === PUT ? "drop" : undefined);
    await phone.courier.exchange();
    const [parked] = phone.courier.state.value.parked;
    await phone.courier.dropParked(parked!.change);
    server.fault = () => undefined;
    await phone.courier.exchange();
    expect([...server.blobs.keys()]).toEqual([BLOB]);
  });

  it("added again while it is sent is sent again, so that the server hears of both", async () => {
    const server = new FakeServer();
    const phone = await Device.start(server);
    await phone.photos.add(file("bench"), { build: BUILD, step: idOf(1) });
    let again = false;
    server.hold = async (call) => {
      if (call !== PUT || again) return;
      again = true;
      server.nowMs += 1_000;
      await phone.photos.add(file("bench"), { build: BUILD, step: idOf(2) });
    };
    await phone.courier.exchange();
    await phone.courier.exchange();
    const puts = server.log.lastIndexOf(PUT) - server.log.lastIndexOf("POST /api/sync/push");
    expect(server.log.filter((call) => call === PUT)).toHaveLength(2);
    expect(puts).toBeGreaterThan(0);
    expect(phone.courier.state.value).toMatchObject({ unsentPhotos: 0, unsentChanges: 0 });
  });

  it("at which the server stumbles does not hold up the others (failure 6)", async () => {
    const server = new FakeServer();
    const names = ["a", "b", "c"].map((text) => nameOf(`${text}@2560`)).sort();
    const real = server.fetch;
    const trouble = '{"type":"about:blank","title":"Internal server error","status":500}';
    const phone = await Device.start(server, {
      fetch: (input, init) =>
        String(input).endsWith(`/api/blobs/${names[0] ?? ""}`) && init?.method === "PUT"
          ? Promise.resolve(new Response(trouble, {
              status: 500, headers: { "Content-Type": "application/problem+json" },
            }))
          : real(input, init),
    });
    for (const text of ["a", "b", "c"]) await phone.photos.add(file(text), { build: BUILD, step: null });
    await phone.courier.exchange();
    expect([...server.blobs.keys()].sort()).toEqual(names.slice(1));
    expect(phone.courier.state.value).toMatchObject({
      unsentPhotos: 1, refusal: { title: "Internal server error" },
    });
  });

  it("that cannot be read, or is too large, is refused in plain words", async () => {
    const server = new FakeServer();
    const draw: Draw = () => Promise.reject(new PictureRefused("unreadable"));
    const phone = await Device.start(server, { draw });
    const about = { build: BUILD, step: null };
    await expect(phone.photos.add(file("no picture"), about)).rejects.toThrow(/cannot read/);
    await expect(phone.photos.add(file(""), about)).rejects.toMatchObject({ fault: "unreadable" });
    const huge = Object.defineProperty(file("x"), "size", { value: 61 * 1024 * 1024 });
    await expect(phone.photos.add(huge, about)).rejects.toMatchObject({ fault: "large" });
    expect(await phone.outbox.unsent()).toEqual([]);
  });

  it("is drawn alone, however many are added at once (pitfalls 30 to 33)", async () => {
    const server = new FakeServer();
    let under = 0;
    let most = 0;
    const draw: Draw = async (one, sides) => {
      under += 1;
      most = Math.max(most, under);
      await new Promise((done) => setTimeout(done, 5));
      under -= 1;
      return plainDraw(one, sides);
    };
    const phone = await Device.start(server, { draw });
    await Promise.all([1, 2, 3].map((n) => phone.photos.add(file(`p${n}`), { build: BUILD, step: null })));
    expect(most).toBe(1);
    await phone.courier.exchange();
    expect(server.blobs.size).toBe(3);
  });

  it("lets go of its address when it is off screen (pitfall 44)", async () => {
    const server = new FakeServer();
    const phone = await Device.start(server);
    await phone.photos.add(file("bench"), { build: BUILD, step: null });
    const revoked: string[] = [];
    Object.assign(phone.photos.context.urls, { revokeObjectURL: (url: string) => revoked.push(url) });
    const shown = await phone.photos.show(BLOB, "full");
    shown!.release();
    shown!.release();
    expect(revoked).toEqual(["blob:x"]);
  });
});

describe("a kit's drawings", () => {
  it("are fetched once for use offline, going on where the network broke off", async () => {
    const server = new FakeServer();
    const desk = await Device.start(server, { clock: "00000000000000d2" });
    const phone = await Device.start(server, { clock: "00000000000000d1" });
    const pages = ["one", "two", "three"].map((text, i) => {
      const bytes = new TextEncoder().encode(text);
      server.blobs.set(nameOf(text), bytes);
      return { type: "page" as const, id: idOf(i + 1), set: { kit: idOf(9), blob: nameOf(text) } };
    });
    await desk.store.write(pages);
    await desk.courier.exchange();
    await phone.courier.exchange();
    await phone.store.load(idOf(9));
    server.log.length = 0;
    server.fault = () => (server.log.length > 1 ? "drop" : undefined);
    await phone.photos.prefetch(idOf(9));
    server.fault = () => undefined;
    await phone.photos.prefetch(idOf(9));
    await phone.photos.prefetch(idOf(9));
    expect(server.log).toHaveLength(4);
    server.fault = () => "drop";
    for (const text of ["one", "two", "three"]) {
      expect(await phone.photos.show(nameOf(text), "full")).not.toBeNull();
    }
  });
});

describe("a copy of what is unsent", () => {
  const keepingOf = (device: Device): SyncKeeping => {
    const keeping = new SyncKeeping({
      storage: undefined, store: device.store, nowMs: () => device.server.nowMs, sha256, wrote: () => undefined,
    });
    keeping.travel({ workshop: WORKSHOP, outbox: device.outbox });
    return keeping;
  };

  it("brings changes and photos through another device to the server, once each (failure 24)", async () => {
    const server = new FakeServer();
    const phone = await Device.start(server, { clock: "00000000000000d1" });
    await phone.store.write([
      { type: "kit", id: idOf(1), set: { name: "a" } },
      { type: "kit", id: idOf(2), set: { name: "b" } },
    ], { together: true });
    await phone.store.write([{ type: "kit", id: idOf(1), set: { name: "a2" } }]);
    await phone.photos.add(file("bench"), { build: BUILD, step: null });
    const copy = await keepingOf(phone).copyUnsent();
    // The phone is gone; a tablet takes its work in, twice by mistake.
    const tablet = await Device.start(server, { clock: "00000000000000d2" });
    const keeping = keepingOf(tablet);
    expect(await keeping.loadCopy(copy)).toBe(4);
    expect(await keeping.loadCopy(copy)).toBe(0);
    expect(tablet.store.get("kit", idOf(1))).toMatchObject({ values: { name: "a2" }, clashes: [] });
    await tablet.courier.exchange();
    expect(server.journal.size).toBe(4);
    expect(server.blobs.size).toBe(1);
    expect(tablet.courier.state.value.parked).toEqual([]);
  });

  it("is refused with a reason when it is damaged, another's, or no copy at all", async () => {
    const server = new FakeServer();
    const phone = await Device.start(server);
    await phone.photos.add(file("bench"), { build: BUILD, step: null });
    const keeping = keepingOf(phone);
    const text = await (await keeping.copyUnsent()).text();
    const load = (t: string): Promise<number> => keeping.loadCopy(new Blob([t]));
    await expect(load("{")).rejects.toThrow(/no copy/);
    await expect(load("null")).rejects.toThrow(/no copy/);
    await expect(load('{"what":"bagtrail-unsent"}')).rejects.toThrow(/no copy/);
    await expect(load(text.replace(WORKSHOP, idOf(0xcc)))).rejects.toThrow(/another workshop/);
    await expect(load(text.replace('"version":1', '"version":2'))).rejects.toThrow(/newer app/);
    await expect(load(text.replace(/"stamp":"[^"]*"/, '"stamp":"x"'))).rejects.toThrow(/damaged/);
    await expect(load(text.replace(/"base64":"[^"]*"/, '"base64":"AAAA"'))).rejects.toThrow(/damaged/);
    await expect(load(text.replace(/"base64":"[^"]*"/, '"base64":"%"'))).rejects.toThrow(/damaged/);
    await expect(load(text.replace(/"set":\{[^}]*\}/, '"set":null'))).rejects.toThrow(/damaged/);
    await expect(load(text.replace('"photos":[', '"photos":[null,'))).rejects.toThrow(/damaged/);
    await expect(load(text.replace('"supersedes"', '"group":{"first":"x"},"supersedes"'))).rejects.toThrow(
      /damaged/,
    );
    expect(await phone.outbox.unsent()).toHaveLength(1);
  });

  it("holds what this app cannot read, too (failure 22)", async () => {
    const phone = await Device.start(new FakeServer());
    await phone.store.write([{ type: "kit", id: idOf(1), set: { name: "a" } }]);
    const raw = await openDB(`bagtrail-${WORKSHOP}-outbox`);
    const [row] = (await raw.getAll("changes")) as object[];
    await raw.put("changes", { ...row, set: "of an unknown release" });
    raw.close();
    await phone.outbox.unsent();
    const copy = JSON.parse(await (await keepingOf(phone).copyUnsent()).text()) as { aside: unknown[] };
    expect(copy.aside).toMatchObject([{ row: { set: "of an unknown release" } }]);
  });
});
