/** What goes to people beside the sentences of notices, and the page behind the link in a mail, in one language. */
export interface DeliveryWords {
  /** how numbers and dates are written, BCP 47 */
  readonly tag: string;
  /** what stands before a notice's title */
  readonly lead: Readonly<Record<'begun' | 'reminder' | 'ended' | 'withdrawn', string>>;
  readonly summary: {
    readonly quiet: string;
    readonly open: (count: number) => string;
    readonly nothingOpen: string;
    readonly goingOn: string;
    readonly nothingPast: string;
    readonly past: string;
    readonly more: (count: string) => string;
  };
  readonly digest: {
    readonly subject: (dwelling: string, date: string) => string;
    /** `day`: as chain.csv of a pack has it */
    readonly text: (of: {
      readonly dwelling: string;
      readonly date: string;
      readonly day: string;
      readonly readings: string;
      readonly entry: string;
    }) => readonly string[];
  };
  readonly why: (dwelling: string) => string;
  readonly indicates: string;
  /** before the link that stops the messages */
  readonly stop: string;
  /** where there is no link */
  readonly stopByAsking: string;
  readonly test: { readonly subject: (dwelling: string) => string; readonly text: (name: string) => string };
  readonly unsubscribe: {
    readonly title: string;
    readonly ask: (dwelling: string) => string;
    readonly confirm: string;
    readonly done: (dwelling: string) => string;
    readonly undo: string;
    readonly wrong: string;
  };
}
