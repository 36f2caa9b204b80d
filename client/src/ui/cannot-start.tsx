/** Instead of a half-working app: why it does not start, and what to do. No bench is needed. */
import type { ComponentChildren } from "preact";
import { QuietButton } from "./buttons";
import { words } from "./words";

function Alone(props: { title: string; children: ComponentChildren }) {
  return (
    <main class="alone">
      <div class="page">
        <h1>{props.title}</h1>
        {props.children}
      </div>
    </main>
  );
}

/** Plain HTTP from another machine (pitfall 1). `address`: of this page. */
export function Insecure({ address }: { address: string }) {
  const https = address.replace(/^http:/, "https:");
  return (
    <Alone title={words.start.insecure}>
      <p>{words.start.insecureWhy}</p>
      <h2>{words.start.insecureHow}</h2>
      <ol class="how">
        {words.start.insecureSteps(https).map((step) => (
          <li key={step}>{step}</li>
        ))}
      </ol>
      <QuietButton href={https}>{https}</QuietButton>
    </Alone>
  );
}

/** The browser's storage did not open. */
export function NoStorage({ detail }: { detail: string }) {
  return (
    <Alone title={words.start.failed}>
      <p>{words.start.failedWhy}</p>
      <p class="soft">{detail}</p>
      <QuietButton onTap={() => location.reload()}>{words.shared.tryAgain}</QuietButton>
    </Alone>
  );
}
