// The marks of outcomes: one shape each, told apart without colour, and always able to carry their word.

import type { JSX } from "preact";
import type { Outcome } from "../../contract";
import { words } from "../words";

export type Tone = "good" | "fails" | "doubt" | "part" | "clash";

export const toneOf: Record<Outcome, Tone> = { conforms: "good", fails: "fails", "cannot be told": "doubt", incomplete: "part", "in conflict": "clash" };

/** The shape alone, drawn in a 24 × 24 field in the current colour; `hole` is the colour that shows through. */
export function MarkShape({ outcome, hole = "var(--paper-raised)" }: { outcome: Outcome; hole?: string }): JSX.Element {
  switch (outcome) {
    case "conforms":
      return <circle cx="12" cy="12" r="9.5" fill="currentColor" />;
    case "fails":
      return <path d="M4.5 4.5 19.5 19.5 M19.5 4.5 4.5 19.5" stroke="currentColor" stroke-width="4.6" stroke-linecap="square" fill="none" />;
    case "cannot be told":
      return (
        <g>
          <path d="M12 2.2 22.6 21.3H1.4Z" fill={hole} stroke="currentColor" stroke-width="2.2" stroke-linejoin="round" />
          <path d="M9.3 11.2a2.7 2.5 0 1 1 4 2.3c-.9.5-1.3.9-1.3 1.9" fill="none" stroke="currentColor" stroke-width="2" stroke-linecap="round" />
          <circle cx="12" cy="18.3" r="1.35" fill="currentColor" />
        </g>
      );
    case "incomplete":
      return (
        <g>
          <circle cx="12" cy="12" r="9.4" fill={hole} stroke="currentColor" stroke-width="2.2" />
          <path d="M12 12V4.6A7.4 7.4 0 0 1 19.4 12Z" fill="currentColor" />
        </g>
      );
    case "in conflict":
      return (
        <path d="M2.5 8.2H20M15.4 3.4 20.4 8.2 15.4 13 M21.5 16H4M8.6 11.2 3.6 16 8.6 20.8" fill="none" stroke="currentColor" stroke-width="2.6" stroke-linejoin="miter" />
      );
  }
}

/** A mark with its word; `alone` hides the word from sight but not from a screen reader. */
export function Mark({ outcome, size = 20, alone = false }: { outcome: Outcome; size?: number; alone?: boolean }): JSX.Element {
  return (
    <span class={`mark tone-${toneOf[outcome]}`}>
      <svg width={size} height={size} viewBox="0 0 24 24" aria-hidden="true"><MarkShape outcome={outcome} /></svg>
      <span class={alone ? "unseen" : ""}>{words.outcome[outcome]}</span>
    </span>
  );
}

/** Cleared or held: a ringed disc against a barred square. */
export function StandShape({ cleared }: { cleared: boolean }): JSX.Element {
  return cleared ? (
    <g>
      <circle cx="12" cy="12" r="10.5" fill="none" stroke="currentColor" stroke-width="1.8" />
      <circle cx="12" cy="12" r="6.8" fill="currentColor" />
    </g>
  ) : (
    <g>
      <path d="M2.5 2.5h19v19h-19z" fill="none" stroke="currentColor" stroke-width="2.2" />
      <path d="M6 10h12v4H6z" fill="currentColor" />
    </g>
  );
}

export function Stand({ cleared, size = 20 }: { cleared: boolean; size?: number }): JSX.Element {
  return (
    <span class={`mark tone-${cleared ? "good" : "part"}`}>
      <svg width={size} height={size} viewBox="0 0 24 24" aria-hidden="true"><StandShape cleared={cleared} /></svg>
      <span>{cleared ? words.cleared : words.held}</span>
    </span>
  );
}
