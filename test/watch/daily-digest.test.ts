import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pino } from 'pino';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readConfig } from '../../server/config.ts';
import { type Coomb, startCoomb } from '../../server/main.ts';
import type { DaySeal, Recipient } from '../../server/store/port.ts';
import { FROM, givenSealedHome, TO } from '../evidence/home.ts';
import { type MailServerUnderTest, openMailServer } from './mail-server.ts';

/** The seal of a day, sent to somebody who keeps it: real program, real mail server. */
describe('the seal of each day', () => {
  let folder: string;
  let mail: MailServerUnderTest;
  let coomb: Coomb;
  const start = (): Promise<Coomb> =>
    startCoomb(
      readConfig(
        {
          COOMB_SMTP_URL: `smtp://127.0.0.1:${mail.port}`,
          COOMB_SMTP_FROM: 'coomb@example.org',
          COOMB_SMTP_ENCRYPTION: 'none',
        },
        { dataFolder: folder, httpPort: 0, mqttPort: 0 },
      ),
      pino({ level: 'silent' }),
      () => TO + 86_400_000,
    );
  let keeper: Recipient;
  let seals: DaySeal[];

  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'coomb-digest-'));
    mail = await openMailServer();
    coomb = await start();
    const home = await givenSealedHome(coomb.store);
    const person = {
      dwellingId: home.id,
      channel: 'email',
      secret: null,
      language: 'en',
      rules: { codes: [], minimumSeverity: 'warning' },
      quietHours: null,
      weeklySummary: false,
      active: true,
      unsubscribedAt: null,
    } as const;
    keeper = await coomb.store.addRecipient({
      ...person,
      name: 'Keeper',
      address: 'keeper@example.net',
      dailyDigest: true,
    });
    await coomb.store.addRecipient({ ...person, name: 'Other', address: 'other@example.net', dailyDigest: false });
    await coomb.close();
    coomb = await start();
    seals = await coomb.store.daySeals(home.id, 0, Number.POSITIVE_INFINITY);
  }, 60_000);
  afterAll(async () => {
    await coomb.close();
    await mail.close();
    rmSync(folder, { recursive: true });
  });

  it('goes to who asks for it and to nobody else, with the entry that a pack shows for that day', async () => {
    const arrived = () => mail.received.map(({ raw }) => raw.replaceAll('=\r\n', ''));
    await expect.poll(() => arrived().length, { timeout: 15_000 }).toBeGreaterThanOrEqual(3);
    expect(mail.received.every(({ to }) => to.join() === keeper.address)).toBe(true);
    for (const seal of seals.slice(-3)) {
      expect(arrived().filter((raw) => raw.includes(seal.entry)).length, `day ${seal.day}`).toBeGreaterThan(0);
    }
    expect(seals[0]!.day).toBe(FROM / 86_400_000);
  });

  it('is not sent a second time by a start', async () => {
    const before = mail.received.length;
    await coomb.close();
    coomb = await start();
    await new Promise((resolve) => setTimeout(resolve, 1500));
    expect(mail.received.length).toBe(before);
  });
});
