import { mkdtempSync, rmSync } from 'node:fs';
import { createServer, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pino } from 'pino';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readConfig } from '../../server/config.ts';
import { type Coomb, openStore, startCoomb } from '../../server/main.ts';
import { keepHours } from '../../server/store/hour-keeper.ts';
import { BEGIN, givenHome, HOUR, homeReadings, minutes, spellOf } from './given-home.ts';
import { header, type MailServerUnderTest, openMailServer, type ReceivedMail, textPart } from './mail-server.ts';

interface Mail {
  readonly to: string;
  readonly subject: string;
  readonly text: string;
  readonly html: string;
}

const readable = (mail: ReceivedMail): Mail => ({
  to: mail.to.join(),
  subject: decodedWords(header(mail, 'Subject')!),
  text: textPart(mail, 'text/plain'),
  html: textPart(mail, 'text/html'),
});

/** Encoded words of a header in UTF-8 (RFC 2047, 2 to 6). */
const decodedWords = (line: string): string =>
  line.replaceAll(/\?=\s+=\?/g, '?==?').replaceAll(/(?:=\?UTF-8\?[QB]\?[^?]*\?=)+/gi, (run) =>
    Buffer.concat(
      [...run.matchAll(/=\?UTF-8\?([QB])\?([^?]*)\?=/gi)].map(([, form, text]) =>
        form!.toUpperCase() === 'B'
          ? Buffer.from(text!, 'base64')
          : Buffer.from(
              text!
                .replaceAll('_', ' ')
                .replaceAll(/=([0-9A-F]{2})/gi, (_, hex) => String.fromCharCode(Number.parseInt(hex, 16))),
              'latin1',
            ),
      ),
    ).toString('utf8'),
  );

/** Words that German does not have and English cannot do without. */
const english = /\b(the|of|is|are|with|by|which|not|has|have|from|its|this|that|you)\b/i;

describe('word of a wet spell, to a person who reads German and one who reads English: real program, real mail server', () => {
  const folder = mkdtempSync(join(tmpdir(), 'coomb-languages-'));
  let mail: MailServerUnderTest;
  let hook: Server;
  const posted: { subject: string; text: string; data: unknown }[] = [];
  let coomb: Coomb;
  let now = spellOf.from + HOUR + minutes(15);
  const ids: Record<string, number> = {};

  beforeAll(async () => {
    mail = await openMailServer();
    hook = createServer((request, response) => {
      let body = '';
      request.on('data', (piece) => {
        body += piece;
      });
      request.on('end', () => {
        posted.push(JSON.parse(body));
        response.end();
      });
    });
    await new Promise<void>((resolve) => hook.listen(0, '127.0.0.1', resolve));
    const store = await openStore(readConfig({}, { dataFolder: folder }));
    const home = await givenHome(store);
    const person = {
      dwellingId: home.id,
      channel: 'email',
      secret: null,
      rules: { codes: null, minimumSeverity: 'note' },
      quietHours: null,
      weeklySummary: true,
      dailyDigest: true,
      active: true,
      unsubscribedAt: null,
    } as const;
    for (const language of ['de', 'en']) {
      const address = `${language}@example.net`;
      ids[language] = (await store.addRecipient({ ...person, name: language, address, language })).id;
    }
    const address = `http://127.0.0.1:${(hook.address() as AddressInfo).port}/`;
    const program = { channel: 'webhook', name: 'Programm', address, secret: 's', language: 'de' } as const;
    await store.addRecipient({ ...person, ...program, weeklySummary: false, dailyDigest: false });
    for (let day = BEGIN; day < now; day += 24 * HOUR) {
      const to = Math.min(day + 24 * HOUR, now);
      await store.append({ receivedAt: to, readings: homeReadings(home.id, day, to), quarantined: [] });
    }
    await keepHours(store);
    await store.close();
    coomb = await startCoomb(
      readConfig(
        {
          COOMB_SMTP_URL: `smtp://127.0.0.1:${mail.port}`,
          COOMB_SMTP_FROM: 'coomb@example.org',
          COOMB_SMTP_ENCRYPTION: 'none',
          COOMB_PUBLIC_ADDRESS: 'https://home.example.org',
          COOMB_WEBHOOK_RANGES: '127.0.0.0/8',
        },
        { dataFolder: folder, httpPort: 0, mqttPort: 0 },
      ),
      pino({ level: 'silent' }),
      () => now,
    );
    await coomb.watched();
  }, 60_000);
  afterAll(async () => {
    await coomb.close();
    await mail.close();
    hook.close();
    rmSync(folder, { recursive: true });
  });

  async function arrived(language: string, subject: RegExp): Promise<Mail> {
    const find = () =>
      mail.received.map(readable).find((one) => one.to === `${language}@example.net` && subject.test(one.subject));
    await expect.poll(find, { timeout: 15_000 }).toBeDefined();
    return find()!;
  }

  /** Numbers and dates as German and British readers write them (CLDR, by the engine); ± and units with an unbreakable space. */
  it('a notice: figures, dates, advice and caution, and the small print below', async () => {
    const german = await arrived('de', /Feuchte schlägt sich nieder/);
    expect(german.subject).toBe('mill-cottage: slope: Feuchte schlägt sich nieder');
    expect(german.text).toMatch(
      /^Die Oberfläche hatte 5,\d\u00a0°C, .* ein Abstand von −2,\d\u00a0±\u00a0\d,\d\u00a0K/,
    );
    expect(german.text).toContain('Seit 9. Jan. 2026, 02:00.');
    expect(german.text).toMatch(/Öffnen Sie die Fenster zehn Minuten weit[\s\S]*Wo Schimmel ist: Atemwege/);
    expect(german.html).toMatch(/<html lang="de">[\s\S]*Sie bekommen dies, weil/);
    expect(`${german.subject} ${german.text}`).not.toMatch(english);

    const british = await arrived('en', /moisture is settling/);
    expect(british.subject).toBe('mill-cottage: slope: moisture is settling');
    expect(british.text).toMatch(/^The surface was 5\.\d °C, .* a margin of -2\.\d ± \d\.\d K/);
    expect(british.text).toContain('Since Fri 9 Jan 2026, 02:00.');
    expect(british.html).toMatch(/<html lang="en">[\s\S]*You get this because/);
    const figures = ({ text }: Mail) =>
      text
        .replaceAll(',', '.')
        .replace('−', '-')
        .match(/-?\d+\.\d+/g);
    expect(figures(german)).toEqual(figures(british));
  });

  it('a web request: words in German, the same figures for a program', async () => {
    await expect.poll(() => posted.length, { timeout: 15_000 }).toBeGreaterThan(0);
    expect(posted[0]!.subject).toBe('mill-cottage: slope: Feuchte schlägt sich nieder');
    expect(posted[0]!.text).toBe((await arrived('de', /Feuchte schlägt/)).text.replaceAll('\r\n', '\n').trimEnd());
    expect(posted[0]!.data).toMatchObject({ event: 'begun', notice: { code: 'condensing-now' } });
  });

  it('the seal of a day', async () => {
    const german = await arrived('de', /Siegel vom 7\. Jan\. 2026/);
    expect(german.text).toMatch(/die am 7\. Jan\. 2026 \(UTC\) ankamen[\s\S]*Zeile 2026-01-07 in chain\.csv/);
    expect(german.text).not.toMatch(english);
    const british = await arrived('en', /seal of 7 Jan 2026/);
    expect(british.text).toMatch(/that arrived on 7 Jan 2026 \(UTC\)[\s\S]*line of 2026-01-07 in chain\.csv/);
    const entry = ({ text }: Mail) => text.match(/[0-9a-f]{64}/)?.[0];
    expect(entry(german)).toBeDefined();
    expect(entry(german)).toBe(entry(british));
  });

  it('a test, and the page behind the link that stops messages', async () => {
    for (const language of ['de', 'en']) {
      const path = `/api/v1/dwellings/mill-cottage/recipients/${ids[language]}/test`;
      expect((await fetch(`${coomb.address}${path}`, { method: 'POST' })).status).toBe(200);
    }
    const german = await arrived('de', /^Test von coomb: mill-cottage$/);
    expect(german.text).toMatch(/^Guten Tag de,\r\n\r\ndies ist ein Test\./);
    expect((await arrived('en', /^Test from coomb: mill-cottage$/)).text).toMatch(/^Hello en,\r\n\r\nthis is a test\./);
    const [link] = /https:\/\/home\.example\.org\/unsubscribe\/[\w-]+/.exec(german.html)!;
    const page = await (await fetch(`${coomb.address}${new URL(link).pathname}`)).text();
    expect(page).toMatch(/<html lang="de">[\s\S]*<h1>Diese Nachrichten abbestellen<\/h1>/);
  });

  it('the summary of the week', async () => {
    now = Date.UTC(2026, 0, 12, 9);
    await coomb.watched();
    const german = await arrived('de', /die Woche in Kürze: 2 Hinweise dauern an/);
    expect(german.text).toContain('- slope: Feuchte schlägt sich nieder. Seit 9. Jan. 2026, 02:00.');
    expect(german.text).toContain('Sonst kam diese Woche nichts auf.');
    expect(`${german.subject} ${german.text}`).not.toMatch(english);
    const british = await arrived('en', /the week in short: 2 going on/);
    expect(british.text).toContain('- slope: moisture is settling. Since Fri 9 Jan 2026, 02:00.');
  });
});
