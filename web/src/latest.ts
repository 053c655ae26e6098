// Questions asked while something is dragged: one at a time, and of those that wait only the newest.

import type { Problem } from "./ask";

/** Asks one thing at a time; while it waits, only the newest further question is kept. */
export class Latest<T> {
  private busy = false;
  private next: (() => Promise<T | undefined>) | undefined;

  constructor(private readonly take: (answer: T) => void) {}

  ask(question: () => Promise<T | undefined>): void {
    this.next = question;
    if (!this.busy) void this.run();
  }

  private async run(): Promise<void> {
    this.busy = true;
    while (this.next) {
      const question = this.next;
      this.next = undefined;
      const answer = await question();
      if (answer !== undefined) this.take(answer); // also when a newer question waits: something moves
    }
    this.busy = false;
  }
}

export interface Refused {
  problem: Problem;
}

export function isRefused(value: unknown): value is Refused {
  return typeof value === "object" && value !== null && "problem" in value;
}

/** The JSON answer to a form, or the problem with it. */
export async function question<T>(address: string, fields?: URLSearchParams): Promise<T | Refused | undefined> {
  try {
    const how: RequestInit = { headers: { accept: "application/json" } };
    if (fields) Object.assign(how, { method: "POST", body: fields });
    const response = await fetch(address, how);
    return (await response.json()) as T | Refused;
  } catch {
    return undefined; // the server is gone or refused in plain words: what is shown stays as it is
  }
}
