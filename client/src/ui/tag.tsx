/** The paper tag: every card of the app; and the string on which tags hang in order. */
import type { ComponentChildren } from "preact";
import { HereMark, StateMark, type StepState } from "./marks";

export interface TagProps {
  /** Makes the head of the tag a link. */
  href?: string | undefined;
  /** Makes the head a button; `href` wins. */
  onTap?: (() => void) | undefined;
  /** What is stamped large beside the hole: a bag's or step's number. */
  number?: string | undefined;
  title: ComponentChildren;
  /** Small line under the title. */
  note?: ComponentChildren | undefined;
  state?: StepState | undefined;
  stateWord?: string | undefined;
  /** `true`: you are here; a text: who else is. */
  here?: boolean | string | undefined;
  /** Put aside (done, left out): lies darker. */
  worn?: boolean | undefined;
  /** Level of heading of the title; none: plain text. */
  level?: 2 | 3 | undefined;
  id?: string | undefined;
  /** Further content and buttons below the head. */
  children?: ComponentChildren | undefined;
}

/** A card. With `href` or `onTap` the whole head is the target; put further buttons in children. */
export function Tag(props: TagProps) {
  const { href, onTap, here, level } = props;
  const Title = level === 2 ? "h2" : level === 3 ? "h3" : "span";
  const head = (
    <>
      {props.number !== undefined && <span class="tag-number">{props.number}</span>}
      <span class="tag-words">
        {props.title !== "" && <Title class="tag-title">{props.title}</Title>}
        {props.note !== undefined && <span class="tag-note">{props.note}</span>}
        {(props.state || here) && (
          <span class="tag-state">
            {props.state && <StateMark state={props.state} word={props.stateWord} />}
            {here && <HereMark who={typeof here === "string" ? here : undefined} />}
          </span>
        )}
      </span>
    </>
  );
  const shape = ["tag", here === true && "is-here", props.worn && "is-worn"];
  return (
    <article class={shape.filter(Boolean).join(" ")} id={props.id}>
      {href !== undefined ? (
        <a class="tag-head" href={href} aria-current={here === true ? "location" : undefined}>
          {head}
        </a>
      ) : onTap ? (
        <button type="button" class="tag-head" onClick={onTap}>
          {head}
        </button>
      ) : (
        <div class="tag-head">{head}</div>
      )}
      {props.children !== undefined && <div class="tag-body">{props.children}</div>}
    </article>
  );
}

/**
 * Tags in order on one string. `label` names the list for screen readers. Children: one `<li>` is
 * made around each; give each child a key.
 */
export function TagList(props: {
  label?: string | undefined;
  ordered?: boolean | undefined;
  children: ComponentChildren[];
}) {
  const List = props.ordered ? "ol" : "ul";
  return (
    <List class="tag-list" aria-label={props.label} role="list">
      {props.children.map((child) => (
        <li key={keyOf(child)}>{child}</li>
      ))}
    </List>
  );
}

function keyOf(child: ComponentChildren): string | number | undefined {
  const key: unknown = child && typeof child === "object" && "key" in child ? child.key : undefined;
  return typeof key === "string" || typeof key === "number" ? key : undefined;
}
