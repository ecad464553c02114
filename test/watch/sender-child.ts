/**
 * Sends what is in the outbox of the store at argv[2] by the mail server at port argv[3], and to webhooks on this machine,
 * until it is killed. Prints one line when it is ready.
 */
import { openSqliteStore } from '../../server/store/sqlite.ts';
import { emailChannel } from '../../server/watch/channels/email.ts';
import { allowedRanges } from '../../server/watch/channels/public-address.ts';
import { webhookChannel } from '../../server/watch/channels/webhook.ts';
import { createOutboxSender, senderSettings } from '../../server/watch/outbox-sender.ts';

const store = await openSqliteStore(process.argv[2]!);
const server = {
  host: '127.0.0.1',
  port: Number(process.argv[3]),
  encryption: 'none',
  username: null,
  password: null,
  from: { name: 'coomb', address: 'coomb@example.org' },
  authorities: [],
} as const;
createOutboxSender({
  store,
  channels: {
    email: emailChannel(server, { connectMs: 400, silenceMs: 400 }),
    webhook: webhookChannel({
      version: 'test',
      allowed: allowedRanges(['127.0.0.1']),
      authorities: [],
      clock: Date.now,
      timeoutMs: 400,
    }),
  },
  clock: Date.now,
  chance: Math.random,
  publicAddress: null,
  log: { info: () => undefined, warn: () => undefined },
  settings: { ...senderSettings, attemptMs: 500, claimMs: 700, firstMs: 20, longestMs: 100, lookMs: 50 },
});
// the sender's own timers do not keep a process alive
setInterval(() => undefined, 1000);
console.log('ready');
