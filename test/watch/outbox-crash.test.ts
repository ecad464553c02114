import { createHmac } from 'node:crypto';
import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import { expect, test } from 'vitest';
import type { Recipient } from '../../server/store/port.ts';
import { openSqliteStore } from '../../server/store/sqlite.ts';
import { messageKey } from '../../server/watch/installation-key.ts';
import { startChild } from '../ingest/processes.ts';
import { seeded } from '../physics/seeded.ts';
import { newDatabasePath } from '../store/sqlite/folder.ts';
import { header, openMailServer, readMail } from './mail-server.ts';
import { givenDwelling, givenRecipient, messageTo } from './outbox-world.ts';

const ROUNDS = 14;
const A_ROUND = 24;

const pause = (ms: number): Promise<void> => new Promise((resolve) => setTimeout(resolve, ms));

/**
 * The sender is killed at any point, the servers refuse, hang, hang up, and take a message without ever saying so. What is
 * counted is what came in at the servers.
 */
test('a sender killed at random delivers every message at least once, and every copy is known by its key', async () => {
  const random = seeded(20260114);
  let calm = false;
  const bad = (share: number): boolean => !calm && random() < share;

  const arrived: string[] = [];
  const mails = await openMailServer({
    onConnect(_session, done) {
      if (bad(0.1)) done(Object.assign(new Error('too many'), { responseCode: 421 }));
      else done();
    },
    onRcptTo(_address, _session, done) {
      if (bad(0.1)) done(Object.assign(new Error('later'), { responseCode: 450 }));
      else done();
    },
    onData(stream, session, done) {
      const pieces: Buffer[] = [];
      stream.on('data', (piece: Buffer) => pieces.push(piece));
      stream.on('end', () => {
        const mail = readMail(Buffer.concat(pieces).toString('utf8'), session);
        arrived.push(header(mail, 'Message-ID')!.replace(/^<(.*)@example\.org>$/, '$1'));
        // taken, and never said so
        if (bad(0.15)) return;
        setTimeout(done, random() * 10);
      });
    },
  });
  const forged: string[] = [];
  const hook = createServer(async (request, response) => {
    let body = '';
    for await (const piece of request.setEncoding('utf8')) body += piece;
    if (bad(0.1)) {
      response.writeHead(503).end();
      return;
    }
    const key = String(request.headers['idempotency-key']);
    const mac = createHmac('sha256', 'a secret').update(`${request.headers['coomb-timestamp']}.${body}`).digest('hex');
    if (request.headers['coomb-signature'] !== `v1=${mac}` || JSON.parse(body).id !== key) forged.push(body);
    arrived.push(key);
    if (bad(0.1)) request.socket.destroy();
    else if (bad(0.05)) return;
    else setTimeout(() => response.writeHead(204).end(), random() * 10);
  });
  await new Promise<void>((resolve) => hook.listen(0, '127.0.0.1', resolve));
  const { port } = hook.address() as AddressInfo;

  const path = newDatabasePath();
  const store = await openSqliteStore(path);
  const recipients: Recipient[] = [];
  for (const slug of ['mill-cottage', 'gable-cottage']) {
    const home = await givenDwelling(store, slug);
    for (const k of [1, 2]) {
      recipients.push(await givenRecipient(store, home, { address: `ada${k}@example.net` }));
      const address = `http://127.0.0.1:${port}/${k}`;
      recipients.push(await givenRecipient(store, home, { channel: 'webhook', address }));
    }
  }

  const expected = new Map<string, string>();
  const installation = await store.installationKey();
  for (let round = 0; round < ROUNDS; round++) {
    const sender = await startChild('../watch/sender-child.ts', path, String(mails.port));
    const messages = Array.from({ length: A_ROUND }, (_, k) =>
      messageTo(recipients[k % recipients.length]!, `r${round}-${k}`, { createdAt: Date.now(), notBefore: Date.now() }),
    );
    await store.addMessages(messages);
    for (const { dwellingId, id } of messages) {
      expected.set(messageKey(installation, dwellingId, id), `${dwellingId} ${id}`);
    }
    await pause(random() * 400);
    await sender.kill();
  }
  expect(arrived.length).toBeGreaterThan(ROUNDS);

  calm = true;
  const last = await startChild('../watch/sender-child.ts', path, String(mails.port));
  const left = async (): Promise<number> => {
    const counts = await Promise.all([1, 2].map((id) => store.countDeliveries(id)));
    return counts.reduce((sum, { waiting, sending }) => sum + waiting + sending, 0);
  };
  while ((await left()) > 0) await pause(50);
  await last.kill();

  const copies = new Map<string, number>();
  for (const key of arrived) copies.set(key, (copies.get(key) ?? 0) + 1);
  expect(expected.size).toBe(ROUNDS * A_ROUND);
  expect([...copies.keys()].filter((key) => !expected.has(key))).toEqual([]);
  expect([...expected.keys()].filter((key) => !copies.has(key)).map((key) => expected.get(key))).toEqual([]);
  expect(forged).toEqual([]);
  const counts = await Promise.all([1, 2].map((id) => store.countDeliveries(id)));
  expect(counts.map(({ sent }) => sent)).toEqual([(ROUNDS * A_ROUND) / 2, (ROUNDS * A_ROUND) / 2]);
  const twice = [...copies.values()].filter((count) => count > 1).length;
  const attempts = await Promise.all(
    [1, 2].map(async (id) =>
      store.deliveryAttempts(
        id,
        (await store.deliveries(id, {}, 10_000)).map((one) => one.id),
      ),
    ),
  );
  const unknown = attempts.flat().filter(({ outcome }) => outcome === 'unknown').length;
  console.info(
    `${ROUNDS} kills, ${expected.size} messages, ${arrived.length} arrivals, ${twice} more than once, ` +
      `${attempts.flat().length} attempts, ${unknown} cut off by a kill`,
  );
  expect(unknown).toBeGreaterThan(0);
  await store.close();
  hook.closeAllConnections();
  await Promise.all([mails.close(), new Promise((resolve) => hook.close(resolve))]);
}, 180_000);
