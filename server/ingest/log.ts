/** What ingest says to whoever runs it; a pino logger is one. */
export interface Log {
  info(detail: object, message: string): void;
  warn(detail: object, message: string): void;
}

export const silent: Log = Object.freeze({ info: () => {}, warn: () => {} });
