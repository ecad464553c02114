import type { AddressInfo } from 'node:net';
import { SMTPServer, type SMTPServerOptions, type SMTPServerSession } from 'smtp-server';

export interface ReceivedMail {
  /** envelope recipients */
  readonly to: readonly string[];
  /** header lines, folded ones put together */
  readonly headers: readonly string[];
  readonly raw: string;
  /** whether it came encrypted, and as whom */
  readonly encrypted: boolean;
  readonly user: string | null;
}

export interface MailServerUnderTest {
  readonly port: number;
  readonly received: ReceivedMail[];
  close(): Promise<void>;
}

export const readMail = (raw: string, session: SMTPServerSession): ReceivedMail => ({
  to: session.envelope.rcptTo.map(({ address }) => address),
  headers: raw
    .slice(0, raw.indexOf('\r\n\r\n'))
    .replaceAll(/\r\n[ \t]+/g, ' ')
    .split('\r\n'),
  raw,
  encrypted: session.secure,
  user: (session as { user?: string }).user ?? null,
});

/** A real SMTP server on this machine that keeps what it takes. */
export async function openMailServer(options: SMTPServerOptions = {}): Promise<MailServerUnderTest> {
  const received: ReceivedMail[] = [];
  const server = new SMTPServer({
    authOptional: true,
    disabledCommands: options.onAuth ? [] : ['AUTH'],
    logger: false,
    onData(stream, session, done) {
      const pieces: Buffer[] = [];
      stream.on('data', (piece: Buffer) => pieces.push(piece));
      stream.on('end', () => {
        received.push(readMail(Buffer.concat(pieces).toString('utf8'), session));
        done();
      });
    },
    ...options,
  });
  server.on('error', () => undefined);
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  return {
    port: (server.server.address() as AddressInfo).port,
    received,
    close: () => new Promise((resolve) => server.close(() => resolve())),
  };
}

export const header = (mail: ReceivedMail, name: string): string | undefined =>
  mail.headers
    .find((line) => line.toLowerCase().startsWith(`${name.toLowerCase()}:`))
    ?.slice(name.length + 1)
    .trim();

/** One part of a mail, decoded: quoted-printable or base64 (RFC 2045, 6.7 and 6.8), or as it is. */
export function textPart(mail: ReceivedMail, type: string): string {
  const part = mail.raw.split(/\r\n--[^\r\n]+\r\n/).find((one) => one.includes(`Content-Type: ${type}`))!;
  const [head = '', ...rest] = part.split('\r\n\r\n');
  const body = rest.join('\r\n\r\n').replace(/\r\n--[^\r\n]+--\r\n$/, '');
  const encoding = /Content-Transfer-Encoding: (\S+)/i.exec(head)?.[1];
  if (encoding === 'base64') return Buffer.from(body, 'base64').toString('utf8');
  if (encoding !== 'quoted-printable') return body;
  const octets = body
    .replaceAll(/=\r\n/g, '')
    .replaceAll(/=([0-9A-F]{2})/g, (_, hex: string) => String.fromCharCode(Number.parseInt(hex, 16)));
  return Buffer.from(octets, 'latin1').toString('utf8');
}
