import { type AddressInfo, createServer, type Socket } from 'node:net';
import type { SMTPServerOptions } from 'smtp-server';
import { afterEach, describe, expect, test } from 'vitest';
import { emailChannel, type MailServer } from '../../server/watch/channels/email.ts';
import { isMailbox } from '../../server/watch/channels/mail.ts';
import { freePort } from '../ingest/processes.ts';
import { newCertificates } from './certificates.ts';
import { header, type MailServerUnderTest, openMailServer } from './mail-server.ts';
import { NOW, parcelTo } from './parcels.ts';

const certificates = newCertificates();
const limits = { connectMs: 2000, silenceMs: 500 };
const open: { close(): unknown }[] = [];
afterEach(async () => {
  for (const one of open.splice(0)) await one.close();
});

async function given(options?: SMTPServerOptions): Promise<MailServerUnderTest> {
  const server = await openMailServer(options);
  open.push(server);
  return server;
}

const through = (port: number, change: Partial<MailServer> = {}): MailServer => ({
  host: 'localhost',
  port,
  encryption: 'none',
  username: null,
  password: null,
  from: { name: 'coomb', address: 'coomb@example.org' },
  authorities: [],
  ...change,
});

const send = (server: MailServer | null, parcel = parcelTo('ada@example.net')) => emailChannel(server, limits)(parcel);
const smtpError = (message: string, responseCode: number) => Object.assign(new Error(message), { responseCode });

describe('a mail', () => {
  test('arrives with the words, in text and in HTML, under a Message-ID that is the same at every attempt', async () => {
    const server = await given();
    const parcel = parcelTo('ada@example.net');
    expect(await send(through(server.port), parcel)).toMatchObject({ kind: 'taken' });
    await send(through(server.port), { ...parcel, delivery: { ...parcel.delivery, attempts: 2 } });
    const [first, second] = server.received;
    expect(first!.to).toEqual(['ada@example.net']);
    expect(header(first!, 'Message-ID')).toBe('<0123456789abcdef0123456789abcdef@example.org>');
    expect(header(second!, 'Message-ID')).toBe(header(first!, 'Message-ID'));
    expect(header(second!, 'Date')).toBe(header(first!, 'Date'));
    expect(Date.parse(header(first!, 'Date')!)).toBe(NOW);
    expect(header(first!, 'Subject')).toBe('Moisture is settling');
    expect(header(first!, 'From')).toBe('coomb <coomb@example.org>');
    expect(header(first!, 'Auto-Submitted')).toBe('auto-generated');
    expect(first!.raw).toContain('multipart/alternative');
    expect(first!.raw).toContain('Open the window.\r\n\r\n-- \r\n');
    expect(first!.raw).toContain('<p>The slope is below its dew point.</p>');
    expect(first!.raw).toContain('ask whoever looks after coomb there');
  });

  test('says how to stop: one click over https (RFC 8058), a link over http, words where there is no address', async () => {
    const server = await given();
    const headersWith = async (unsubscribeUrl: string | null) => {
      await send(through(server.port), { ...parcelTo('ada@example.net'), unsubscribeUrl });
      const mail = server.received.at(-1)!;
      return [header(mail, 'List-Unsubscribe'), header(mail, 'List-Unsubscribe-Post')];
    };
    const path = 'example.org/unsubscribe/1-1-abcdefghijklmnopqrstuvwxyzabcdefghijklmnopq';
    expect(await headersWith(`https://${path}`)).toEqual([`<https://${path}>`, 'List-Unsubscribe=One-Click']);
    expect(await headersWith(`http://${path}`)).toEqual([`<http://${path}>`, undefined]);
    expect(await headersWith(null)).toEqual([undefined, undefined]);
  });

  test('cannot be made to carry a header or an address of someone else’s', async () => {
    const server = await given();
    const evil = 'hello\r\nBcc: eve@example.com\r\n\r\nother body';
    const parcel = parcelTo('ada@example.net', {
      delivery: { body: { subject: evil, text: '.\r\n.\r\nQUIT\r\n<script>alert(1)</script>', data: {} } },
      recipient: { name: `Ada\u2028${evil}`, language: '"><script>' },
      dwelling: { name: '<img src=x>' },
    });
    expect(await send(through(server.port), parcel)).toMatchObject({ kind: 'taken' });
    const [mail] = server.received;
    expect(mail!.to).toEqual(['ada@example.net']);
    expect(mail!.headers.filter((line) => /^bcc:/i.test(line))).toEqual([]);
    expect(header(mail!, 'Subject')).toBe('hello Bcc: eve@example.com other body');
    expect(mail!.raw.slice(mail!.raw.indexOf('text/html'))).not.toMatch(/<script|<img/);
    expect(server.received).toHaveLength(1);
  });

  test('goes to a plain address or nowhere', async () => {
    const server = await given();
    for (const address of [
      'a@example.net, eve@example.com',
      'a@example.net\r\nRCPT TO:<eve@example.com>',
      '<a@example.net>',
      'a b@example.net',
      'a@',
      '@example.net',
      'a@example.net>',
      'a@-example',
      '"a b"@example.net',
    ]) {
      expect(isMailbox(address), address).toBe(false);
      expect(await send(through(server.port), parcelTo(address))).toMatchObject({
        kind: 'for-good',
        code: 'bad-address',
      });
    }
    for (const address of ['ada@example.net', 'a.d+a@mail.example.net', 'ada@localhost', 'ada@bücher.example']) {
      expect(isMailbox(address), address).toBe(true);
    }
    expect(server.received).toEqual([]);
  });
});

describe('a mail server that is reached', () => {
  test('in clear takes mail, where the owner said so', async () => {
    const server = await given();
    expect(await send(through(server.port))).toMatchObject({ kind: 'taken' });
    expect(server.received[0]!.encrypted).toBe(false);
  });

  test('must offer STARTTLS where it was asked for: nothing is said in clear', async () => {
    const server = await given({ disabledCommands: ['STARTTLS', 'AUTH'] });
    expect(await send(through(server.port, { encryption: 'starttls' }))).toMatchObject({
      kind: 'for-now',
      code: 'encryption-failed',
    });
    expect(server.received).toEqual([]);
  });

  test('with a wrong password gets nothing, the message waits, and the password is not repeated', async () => {
    const server = await given({
      allowInsecureAuth: true,
      onAuth(auth, _session, done) {
        done(smtpError(`no, not ${auth.password}`, 535));
      },
    });
    const result = await send(through(server.port, { username: 'coomb', password: 'correct horse' }));
    expect(result).toMatchObject({ kind: 'for-now', code: 'sign-in-refused', detail: '535 no, not …' });
    expect(server.received).toEqual([]);
  });

  test('but has no such host, listens no more, hangs, or hangs up, is tried again', async () => {
    const gone = await freePort();
    expect(await send(through(gone))).toMatchObject({ kind: 'for-now', code: 'connection-refused' });
    expect(await send(through(25, { host: 'nowhere.invalid' }))).toMatchObject({
      kind: 'for-now',
      code: 'host-not-found',
    });
    expect(await send(through(await raw(() => undefined)))).toMatchObject({ kind: 'for-now', code: 'timed-out' });
    expect(await send(through(await raw((socket) => socket.end())))).toMatchObject({
      kind: 'for-now',
      code: 'connection-lost',
    });
    expect(await send(through(await raw((socket) => socket.destroy())))).toMatchObject({ kind: 'for-now' });
    expect(await send(null)).toEqual({ kind: 'for-now', code: 'no-mail-server', detail: '' });
  });

  test('and dies after the whole mail but before its answer, is tried again with the same Message-ID', async () => {
    let mail = '';
    const port = await raw((socket) => {
      socket.write('220 ready\r\n');
      socket.setEncoding('utf8').on('data', (text: string) => {
        mail += text;
        if (mail.includes('\r\n.\r\n')) socket.destroy();
        else if (/^DATA\r\n/m.test(text)) socket.write('354 go\r\n');
        else if (/^(EHLO|MAIL|RCPT)/.test(text)) socket.write('250 ok\r\n');
      });
    });
    expect(await send(through(port))).toMatchObject({ kind: 'for-now', code: 'connection-lost' });
    expect(mail).toContain('Message-ID: <0123456789abcdef0123456789abcdef@example.org>');
  });

  /** What SMTP's first digit means: RFC 5321, 4.2.1; the codes: 4.2.3. */
  test.each([
    ['RCPT', 450, 'for-now', 'busy'],
    ['RCPT', 452, 'for-now', 'busy'],
    ['RCPT', 550, 'for-good', 'address-refused'],
    ['RCPT', 553, 'for-good', 'address-refused'],
    ['MAIL', 451, 'for-now', 'busy'],
    ['MAIL', 550, 'for-now', 'sender-refused'],
    ['MAIL', 530, 'for-now', 'sign-in-refused'],
    ['DATA', 451, 'for-now', 'busy'],
    ['DATA', 552, 'for-good', 'message-refused'],
    ['DATA', 554, 'for-good', 'message-refused'],
    ['CONN', 421, 'for-now', 'busy'],
    ['CONN', 554, 'for-now', 'busy'],
  ] as const)('and answers %s with %i: %s', async (step, code, kind, why) => {
    const error = smtpError('because', code);
    const server = await given({
      ...(step === 'RCPT' ? { onRcptTo: (_address, _session, done) => done(error) } : {}),
      ...(step === 'MAIL' ? { onMailFrom: (_address, _session, done) => done(error) } : {}),
      ...(step === 'CONN' ? { onConnect: (_session, done) => done(error) } : {}),
      ...(step === 'DATA'
        ? {
            onData(stream, _session, done) {
              stream.resume();
              stream.on('end', () => done(error));
            },
          }
        : {}),
    } as SMTPServerOptions);
    expect(await send(through(server.port))).toEqual({ kind, code: why, detail: `${code} because` });
  });
});

describe.skipIf(certificates === null)('a mail server with a certificate', () => {
  const { key, certificate, authority } = certificates ?? { key: '', certificate: '', authority: '' };
  const secure = { key, cert: certificate };
  const signIn: SMTPServerOptions = {
    onAuth({ username, password }, _session, done) {
      if (username === 'coomb' && password === 'correct horse') done(null, { user: username });
      else done(smtpError('wrong', 535));
    },
  };

  test.each([
    ['starttls', {}],
    ['from-start', { secure: true }],
  ] as const)('of an authority we trust takes mail %s, signed in', async (encryption, options) => {
    const server = await given({ ...secure, ...options, ...signIn });
    const account = { encryption, authorities: [authority], username: 'coomb', password: 'correct horse' };
    expect(await send(through(server.port, account))).toMatchObject({ kind: 'taken' });
    expect(server.received).toMatchObject([{ encrypted: true, user: 'coomb' }]);
  });

  test.each([
    ['starttls', {}],
    ['from-start', { secure: true }],
  ] as const)('of an authority we do not know, or for another name, gets nothing %s', async (encryption, options) => {
    let asked = 0;
    const server = await given({
      ...secure,
      ...options,
      onAuth(_auth, _session, done) {
        asked++;
        done(null, { user: 'x' });
      },
    });
    const account = { username: 'coomb', password: 'p', encryption };
    const wanted = { kind: 'for-now', code: 'certificate-not-trusted' };
    expect(await send(through(server.port, account))).toMatchObject(wanted);
    expect(await send(through(server.port, { ...account, host: '127.0.0.1', authorities: [authority] }))).toMatchObject(
      wanted,
    );
    expect(asked).toBe(0);
    expect(server.received).toEqual([]);
  });

  test('that breaks off while agreeing on encryption is tried again', async () => {
    const port = await raw((socket) => socket.end('HTTP/1.1 400 Bad Request\r\n\r\n'));
    expect(await send(through(port, { encryption: 'from-start' }))).toMatchObject({
      kind: 'for-now',
      code: 'encryption-failed',
    });
  });
});

/** A listener that does as it is told with every connection. */
async function raw(act: (socket: Socket) => void): Promise<number> {
  const sockets = new Set<Socket>();
  const server = createServer((socket) => {
    sockets.add(socket.on('error', () => undefined));
    act(socket);
  });
  await new Promise<void>((resolve) => server.listen(0, 'localhost', resolve));
  open.push({
    close: () => {
      for (const socket of sockets) socket.destroy();
      return new Promise((resolve) => server.close(resolve));
    },
  });
  return (server.address() as AddressInfo).port;
}
