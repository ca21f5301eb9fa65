import type { Backend } from "../contract";

export function App(props: { backend: Backend }) {
  return <p>{props.backend.session.value?.person.name ?? "Nobody has entered on this device yet."}</p>;
}
