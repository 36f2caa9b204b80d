/** The tables of a kit, as their addresses name them. */
export const TABLES = ["bags", "steps", "parts", "part_lines", "operations"] as const;
export type TableName = (typeof TABLES)[number];
