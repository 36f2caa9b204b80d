/** A small invented kit and a build of it, for tests of the bench's screens. */
import type { RecordType } from "../src/core/records";
import type { Row } from "./fake-bench";

export const id = (n: number): string => `00000000-0000-4000-8000-${String(n).padStart(12, "0")}`;

export const KIT = id(1);
export const BUILD = id(2);
export const PHONE = id(3);
export const BAG = id(10);
export const STEP1 = id(21);
export const STEP2 = id(22);
export const STEP3 = id(23);
export const OP1 = id(31);
export const OP2 = id(32);
export const OP3 = id(33);
export const CHOICE = id(41);
export const MANUAL = id(42);
export const OTHER = id(43);
export const LINE = id(51);
export const LINE_MANUAL = id(52);
export const LINE_OTHER = id(53);
export const DIMENSION = id(61);

const row = (type: RecordType, at: string, values: Record<string, unknown>): Row => ({
  type,
  id: at,
  values,
});

/** Three steps; 1.2 waits for 1.1; operation 2 of 1.1 waits for operation 1. */
export function kitRows(): Row[] {
  const part = (n: number, name: string) => row("part", id(n), { kit: KIT, name });
  return [
    row("kit", KIT, { name: "Tarn 6" }),
    row("build", BUILD, { kit: KIT, name: "Spring build" }),
    row("device", PHONE, { name: "Phone", kind: "phone", clock: "00000000000000d3" }),
    row("bag", BAG, { kit: KIT, number: "3", title: "Axle", code: "7K3QXWM0", order: "a" }),
    row("step", STEP1, { kit: KIT, number: "1.1", title: "Hub", order: "a", bags: [BAG] }),
    row("step", STEP2, { kit: KIT, number: "1.2", title: "Arm", order: "b", bags: [BAG] }),
    row("step", STEP3, { kit: KIT, number: "1.3", title: "Link", order: "c", bags: [] }),
    row("comes_before", id(71), {
      kit: KIT,
      kind: "step",
      first: STEP1,
      then: STEP2,
      reason: "the hub holds the arm",
    }),
    row("operation", OP1, { kit: KIT, step: STEP1, text: "Press in the bearing", order: "a" }),
    row("operation", OP2, { kit: KIT, step: STEP1, text: "Fit the axle", order: "b" }),
    row("operation", OP3, { kit: KIT, step: STEP2, text: "Hang the arm", order: "a" }),
    row("comes_before", id(72), {
      kit: KIT,
      kind: "operation",
      first: OP1,
      then: OP2,
      reason: "the axle closes the bore",
    }),
    part(81, "Bearing"),
    part(82, "Pinion, 17 teeth"),
    part(83, "Pinion, 19 teeth"),
    row("choice", CHOICE, { kit: KIT, step: STEP1, title: "Pinion", order: "a" }),
    row("alternative", MANUAL, {
      kit: KIT,
      choice: CHOICE,
      title: "17 teeth",
      changes: "pulls harder",
      in_manual: true,
      order: "a",
    }),
    row("alternative", OTHER, { kit: KIT, choice: CHOICE, title: "19 teeth", order: "b" }),
    row("part_line", LINE, {
      kit: KIT,
      part: id(81),
      quantity: 2,
      step: STEP1,
      bag: BAG,
      order: "a",
    }),
    row("part_line", LINE_MANUAL, {
      kit: KIT,
      part: id(82),
      quantity: 1,
      step: STEP1,
      bag: BAG,
      alternative: MANUAL,
      order: "b",
    }),
    row("part_line", LINE_OTHER, {
      kit: KIT,
      part: id(83),
      quantity: 1,
      step: STEP1,
      bag: BAG,
      alternative: OTHER,
      order: "c",
    }),
    row("dimension", DIMENSION, {
      kit: KIT,
      step: STEP1,
      name: "Length of the link",
      target: 112,
      plus: 0.3,
      minus: 0.3,
      order: "a",
    }),
    row("joint", id(62), {
      kit: KIT,
      step: STEP1,
      operation: OP2,
      fastener: "M3x12 cap screw, ISO 4762",
      count: 4,
      through: "metal",
      into: "plastic",
      thread_lock: "never",
    }),
    row("caution", id(63), { kit: KIT, step: STEP1, kind: "spoils", text: "Square or not at all." }),
    row("caution", id(64), { kit: KIT, step: STEP1, kind: "hurts", text: "Wear glasses." }),
  ];
}
