/** Record types of the wire, by name. The interfaces are generated from the OpenAPI document. */
import type { components } from "./wire.gen";

type Schemas = components["schemas"];

export interface RecordFields {
  workshop: Schemas["Workshop"];
  device: Schemas["Device"];
  kit: Schemas["Kit"];
  section: Schemas["Section"];
  bag: Schemas["Bag"];
  barcode: Schemas["Barcode"];
  part: Schemas["Part"];
  part_line: Schemas["PartLine"];
  step: Schemas["Step"];
  operation: Schemas["Operation"];
  comes_before: Schemas["ComesBefore"];
  joint: Schemas["Joint"];
  dimension: Schemas["Dimension"];
  choice: Schemas["Choice"];
  alternative: Schemas["Alternative"];
  caution: Schemas["Caution"];
  page: Schemas["Page"];
  build: Schemas["Build"];
  step_progress: Schemas["StepProgress"];
  operation_tick: Schemas["OperationTick"];
  part_tick: Schemas["PartTick"];
  pick: Schemas["Pick"];
  reading: Schemas["Reading"];
  note: Schemas["Note"];
  photo: Schemas["Photo"];
  shortage: Schemas["Shortage"];
  sitting: Schemas["Sitting"];
  movement: Schemas["Movement"];
  place: Schemas["Place"];
}

export type RecordType = keyof RecordFields;
