/** How a process of ours ended, in words for whoever waits for its work. */
export const endedWords = (code: number | null, signal: NodeJS.Signals | null): string =>
  signal === 'SIGKILL'
    ? 'its process was killed, as the system does when memory runs out'
    : `its process ended with ${signal ?? code}`;
