/** Homes that are asked for to choose among; with more, the list of all is the place to choose. */
export const MOST_CHOICES = 30;

/** What is asked to fill that choice, with one home that must be among them. */
export const choicesAsked = (named: string | null) => ({
  most: MOST_CHOICES + 1,
  ...(named === null ? {} : { with: named }),
});

const asked = new Map<string, Promise<Response>>();

/** Asks for what the first screen will ask for, before its scripts are there to ask. */
export function askEarly(address: string): Promise<Response> {
  const answer = fetch(address, { headers: { accept: 'application/json' } });
  // whoever asks for it hears of a failure; where nobody does, nobody has to
  answer.catch(() => undefined);
  asked.set(address, answer);
  return answer;
}

/** The answer that is on its way already, once: whoever asks again wants a fresh one. */
export function takeEarly(address: string): Promise<Response> | null {
  const answer = asked.get(address) ?? null;
  asked.delete(address);
  return answer;
}
