/** All parts of screens, for one import. What each takes stands beside its definition. */
export { BenchContext, useBench, useSession } from "./bench-context";
export { BigButton, QuietButton, Row } from "./buttons";
export { authorOf, Clashes, stampMs } from "./clash";
export { Choose, Field } from "./field";
export { FilePick } from "./file-pick";
export { HereMark, Mark, StateMark, type Sign, type StepState } from "./marks";
export { useOnce } from "./once";
export { Page } from "./page";
export { Picture } from "./picture";
export { Rename } from "./rename";
export { Rule } from "./rule";
export { say, sayTrouble } from "./say";
export { Sheet } from "./sheet";
export { Empty, Loading, Notice, Offline, Trouble } from "./states";
export { Tag, TagList, type TagProps } from "./tag";
export { countdown, date, many, moment, number, words } from "./words";
