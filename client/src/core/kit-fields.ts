/**
 * Fields of a kit's records that a person types, with the wire's bounds
 * (server/bagtrail/wire/records.py; a test holds both equal through the OpenAPI document).
 */

export type FieldKind = { readonly required?: true } & (
  | { readonly kind: "text"; readonly most: number }
  | { readonly kind: "number"; readonly least: number; readonly most: number; readonly whole?: true }
  /** In mm on the wire, typed in the workshop's unit. */
  | { readonly kind: "length"; readonly least: number; readonly most: number }
);

const text = (most: number): FieldKind => ({ kind: "text", most });
const needed = (most: number): FieldKind => ({ kind: "text", most, required: true });

export const KIT_FIELDS: Readonly<Record<string, Readonly<Record<string, FieldKind>>>> = {
  kit: { name: needed(120), maker: text(120), scale: text(20), currency: text(3), about: text(4000) },
  section: { mark: text(20), title: text(160) },
  bag: { number: needed(20), title: text(160) },
  step: {
    number: needed(20),
    title: text(160),
    text: text(4000),
    minutes: { kind: "number", least: 0, most: 6000 },
  },
  part: { number: text(60), name: needed(160), designation: text(120), material: text(60) },
  part_line: {
    quantity: { kind: "number", least: 0, most: 100_000, whole: true, required: true },
  },
  operation: { text: needed(1000) },
  comes_before: { reason: text(300) },
  joint: {
    text: text(300),
    fastener: text(120),
    count: { kind: "number", least: 1, most: 1000, whole: true },
    torque_nm: { kind: "number", least: 0, most: 500 },
  },
  dimension: {
    name: needed(160),
    measured: text(300),
    target: { kind: "length", least: -100_000, most: 100_000, required: true },
    plus: { kind: "length", least: 0, most: 10_000 },
    minus: { kind: "length", least: 0, most: 10_000 },
  },
  choice: { title: needed(160), text: text(2000) },
  alternative: { title: needed(160), changes: text(2000) },
  caution: { text: needed(1000) },
  page: { number: text(20), title: text(160) },
};
