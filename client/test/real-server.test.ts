/**
 * The engine of the app against the real server, which tests/contract/test_client_exchange.py
 * starts; alone, with BAGTRAIL_SERVER=<address of a server without owner>.
 */
import { randomBytes as bytes, randomUUID } from "node:crypto";
import { describe, expect, it } from "vitest";
import * as api from "../src/net/api";
import { openHttp } from "../src/net/http";
import { Device, type DeviceOptions } from "./device";

const SERVER = process.env["BAGTRAIL_SERVER"];
/** A JPEG of 16 x 16 px, so that the server takes it for what it is. */
const JPEG = process.env["BAGTRAIL_JPEG"];

/** Keeps the cookie that pairing sets, as a browser does. */
function browserFetch(): typeof fetch {
  let cookie = "";
  return async (input, init) => {
    const headers = new Headers(init?.headers);
    if (cookie) headers.set("Cookie", cookie);
    const response = await fetch(SERVER + String(input), { ...init, headers });
    cookie = response.headers.get("Set-Cookie")?.split(";")[0] ?? cookie;
    return response;
  };
}

const now = { get nowMs() { return Date.now(); }, fetch };

describe.runIf(SERVER)("the app's engine and the real server", () => {
  const newClock = (): string => bytes(8).toString("hex");

  it("claim, pair, exchange, clash, photo, restore of a copy", { timeout: 60_000 }, async () => {
    const deskFetch = browserFetch();
    const desk = openHttp(deskFetch);
    expect(await desk.send(api.session())).toMatchObject({ slug: "not-paired", problem: { claimable: true } });
    const arrival = { name: "Desk", kind: "desk" as const, device: randomUUID(), clock: newClock() };
    const claimed = await desk.send(api.claim("Test shed", arrival));
    if (claimed.kind !== "ok") throw new Error(JSON.stringify(claimed));
    const workshop = claimed.value.workshop.id;
    const invited = await desk.send(api.invite());
    if (invited.kind !== "ok") throw new Error(JSON.stringify(invited));
    expect(invited.value.expiresAt).toBeGreaterThan(Date.now());

    const phoneFetch = browserFetch();
    const phoneArrival = { name: "Phone", kind: "phone" as const, device: randomUUID(), clock: newClock() };
    const paired = await openHttp(phoneFetch).send(api.redeem(invited.value.code, phoneArrival));
    expect(paired).toMatchObject({ kind: "ok", value: { workshop: { id: workshop }, device: { name: "Phone" } } });
    expect(await openHttp(browserFetch()).send(api.redeem(invited.value.code, phoneArrival))).toMatchObject({
      slug: "code-spent",
    });

    const open = (fetch: DeviceOptions["fetch"], clock: string, more: DeviceOptions = {}): Promise<Device> =>
      Device.start(now, { workshop, clock, seed: Date.now() + bytes(1)[0]!, ...(fetch ? { fetch } : {}), ...more });
    const a = await open(deskFetch, arrival.clock);
    const photo = Buffer.from(JPEG ?? "", "base64");
    const b = await open(phoneFetch, phoneArrival.clock, {
      device: phoneArrival.device,
      draw: (_, sides) => Promise.resolve(sides.map(() => ({
        type: "image/jpeg", bytes: Uint8Array.from(photo).buffer, widthPx: 16, heightPx: 16,
      }))),
    });
    const reached = (...devices: Device[]): void => {
      for (const device of devices) {
        expect(device.courier.state.value).toMatchObject({
          server: "reached", unsentChanges: 0, unsentPhotos: 0, parked: [], refusal: null, storage: null,
        });
      }
    };
    const kit = randomUUID();
    const build = randomUUID();
    const sections = Array.from({ length: 2_500 }, (_, i) => ({
      type: "section" as const, id: randomUUID(), set: { kit, mark: `S${i}`, order: `a${i.toString(36)}` },
    }));
    await a.store.write([
      { type: "kit", id: kit, set: { name: "Tarn 6" } },
      { type: "build", id: build, set: { kit, name: "Mine" } },
      ...sections,
    ], { together: true });
    await a.courier.exchange();
    reached(a);
    await b.courier.exchange();
    reached(b);
    await b.store.load(kit);
    await b.store.load(build);
    expect(b.store.where("section", "kit", kit)).toHaveLength(2_500);
    expect(b.store.all("device").map((view) => view.values.name).sort()).toEqual(["Desk", "Phone"]);

    // What belongs to another workshop is not taken for this one's (failure 31).
    for (const call of [api.pull(randomUUID(), null), api.push(randomUUID(), null, [])]) {
      expect(await desk.send<unknown>(call)).toMatchObject({ slug: "other-workshop" });
    }

    // Two writes that did not know of each other.
    await a.store.write([{ type: "kit", id: kit, set: { name: "Tarn 6a" } }]);
    await b.store.write([{ type: "kit", id: kit, set: { name: "Tarn 6b" } }]);
    for (const device of [a, b, a]) await device.courier.exchange();
    reached(a, b);
    expect(a.store.get("kit", kit)).toEqual(b.store.get("kit", kit));
    expect(a.store.get("kit", kit)?.clashes).toHaveLength(1);

    // One that the server refuses stands in no other's way.
    await b.store.write([
      { type: "note", id: randomUUID(), set: { build, text: "", at: "2026-05-04T18:30:00.000Z" } },
      { type: "note", id: randomUUID(), set: { build, text: "fits", at: "2026-05-04T18:30:00.000Z" } },
    ]);
    await b.courier.exchange();
    const { parked } = b.courier.state.value;
    expect(parked).toMatchObject([{ type: "note", set: { text: "" } }]);
    await b.courier.dropParked(parked[0]!.change);

    if (photo.length) {
      await b.photos.add(new Blob(["x"]), { build, step: null });
      await b.courier.exchange();
      reached(b);
      await a.courier.exchange();
      await a.store.load(build);
      const [view] = a.store.all("photo");
      expect(view?.values).toMatchObject({ stored: true, build });
      expect(await a.photos.show(view!.values.blob!, "thumb")).not.toBeNull();
      expect(await a.photos.show(view!.values.blob!, "full")).not.toBeNull();
    }

    // A copy of the phone, with its clock and its cookie, writes under ids that the phone uses too.
    const copy = await open(phoneFetch, phoneArrival.clock);
    await copy.store.write([{ type: "kit", id: randomUUID(), set: { name: "from the copy" } }]);
    await copy.courier.exchange();
    reached(copy);
    await b.courier.exchange();
    expect(b.store.all("kit").map((view) => view.values.name).sort()).toEqual([
      b.store.get("kit", kit)?.values.name, "from the copy",
    ].sort());

    // A cursor of another time: everything is read again.
    await b.mirror.apply([], { epoch: "0".repeat(16), seq: 3, change: null });
    const again = await open(phoneFetch, phoneArrival.clock, { browser: b.browser });
    await again.courier.exchange();
    reached(again);
    await again.store.load(kit);
    expect(again.store.where("section", "kit", kit)).toHaveLength(2_500);

    // Taken back: everything is kept, nothing goes through.
    expect(await desk.send(api.revoke(phoneArrival.device))).toMatchObject({ kind: "ok" });
    await again.store.write([{ type: "kit", id: kit, set: { name: "after" } }]);
    await again.courier.exchange();
    expect(again.courier.state.value).toMatchObject({ server: "unpaired", unsentChanges: 1 });
  });
});
