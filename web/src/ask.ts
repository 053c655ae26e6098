// Talk to the server that drew this page.

export interface Problem {
  code: string;
  what: string;
  where: string;
  todo: string;
  field: string;
}

export interface Answer {
  go?: string;
  problem?: Problem;
}

const OFFLINE: Problem = {
  code: "",
  what: "The server does not answer",
  where: "",
  todo: "See that it still runs in its terminal; nothing was changed",
  field: "",
};

function isAnswer(value: unknown): value is Answer {
  return typeof value === "object" && value !== null && ("go" in value || "problem" in value);
}

async function answerOf(response: Response): Promise<Answer> {
  try {
    const value: unknown = await response.json();
    if (isAnswer(value)) return value;
  } catch {
    // the guard answers in plain text
  }
  return { problem: { ...OFFLINE, what: `The server refused this (${response.status})`, todo: "Show the page again" } };
}

/** Send a form; the answer says where to go, or what is wrong. */
export async function send(address: string, fields: URLSearchParams): Promise<Answer> {
  try {
    return await answerOf(await fetch(address, { method: "POST", body: fields, headers: { accept: "application/json" } }));
  } catch {
    return { problem: OFFLINE };
  }
}

/** Send a file as it is, under its own name. */
export async function sendFile(address: string, file: File): Promise<Answer> {
  try {
    return await answerOf(
      await fetch(address, {
        method: "POST",
        body: file,
        headers: {
          accept: "application/json",
          "content-type": "application/octet-stream",
          "x-file-name": encodeURIComponent(file.name),
        },
      }),
    );
  } catch {
    return { problem: OFFLINE };
  }
}

/** The page at an address as a document, or nothing. */
export async function fetchPage(address: string): Promise<Document | undefined> {
  try {
    const response = await fetch(address, { headers: { accept: "text/html" } });
    if (!response.ok) return undefined;
    return new DOMParser().parseFromString(await response.text(), "text/html");
  } catch {
    return undefined;
  }
}
