import { rootCertificates } from 'node:tls';
import type { Transporter } from 'nodemailer';
import type { Options, SentMessageInfo } from 'nodemailer/lib/smtp-transport/index.js';
import type { AttemptCode } from '../../analysis/delivery-vocabulary.ts';
import type { Channel, ChannelResult } from './channel.ts';
import { detailOf, networkCode, networkDetail } from './failures.ts';
import { isMailbox, mailOf, type Sender } from './mail.ts';

/** How mail leaves the house. */
export interface MailServer {
  readonly host: string;
  readonly port: number;
  /** from-start: TLS before anything is said; starttls: TLS before anything but the greeting, or no mail; none: in clear */
  readonly encryption: 'from-start' | 'starttls' | 'none';
  readonly username: string | null;
  readonly password: string | null;
  readonly from: Sender;
  /** certificates to trust beside those that come with Node.js, PEM */
  readonly authorities: readonly string[];
}

export interface MailLimits {
  readonly connectMs: number;
  /** longest silence of the server */
  readonly silenceMs: number;
}

export const mailLimits: MailLimits = Object.freeze({ connectMs: 10_000, silenceMs: 20_000 });

/** Sends by SMTP (RFC 5321) with STARTTLS (RFC 3207) or TLS from the start (RFC 8314); null: no server has been set. */
export function emailChannel(server: MailServer | null, limits: MailLimits = mailLimits): Channel {
  if (server === null) return async () => ({ kind: 'for-now', code: 'no-mail-server', detail: '' });
  const settings: Options = {
    host: server.host,
    port: server.port,
    secure: server.encryption === 'from-start',
    requireTLS: server.encryption === 'starttls',
    ignoreTLS: server.encryption === 'none',
    ...(server.username === null ? {} : { auth: { user: server.username, pass: server.password ?? '' } }),
    tls: {
      minVersion: 'TLSv1.2',
      ...(server.authorities.length === 0 ? {} : { ca: [...rootCertificates, ...server.authorities] }),
    },
    connectionTimeout: limits.connectMs,
    greetingTimeout: limits.connectMs,
    dnsTimeout: limits.connectMs,
    socketTimeout: limits.silenceMs,
    disableFileAccess: true,
    disableUrlAccess: true,
  };
  // read in with the first mail
  let transport: Transporter<SentMessageInfo> | null = null;
  return async (parcel) => {
    const { address } = parcel.recipient;
    if (!isMailbox(address)) return { kind: 'for-good', code: 'bad-address', detail: detailOf(address) };
    try {
      transport ??= (await import('nodemailer')).createTransport(settings);
      const { response } = await transport.sendMail(mailOf(parcel, server.from));
      return { kind: 'taken', detail: detailOf(response) };
    } catch (error) {
      return withoutSecret(failureOf(error as SmtpError), server.password);
    }
  };
}

interface SmtpError {
  readonly code?: string;
  readonly command?: string;
  readonly response?: string;
  readonly responseCode?: number;
}

/**
 * What a failed attempt means. A refusal with 5yz is for good (RFC 5321, 4.2.1) where it is about this person or this
 * message; where it is about how we sign in or whether we may send at all, the owner will mend it and the message waits.
 */
function failureOf(error: SmtpError): ChannelResult {
  const { responseCode, response, command = '', code = '' } = error;
  const detail = detailOf(response ?? networkDetail(error));
  const failed = (kind: 'for-now' | 'for-good', why: AttemptCode): ChannelResult => ({ kind, code: why, detail });
  if (code === 'EAUTH' || code === 'ENOAUTH' || command.startsWith('AUTH')) return failed('for-now', 'sign-in-refused');
  if (responseCode === 530) return failed('for-now', 'sign-in-refused');
  if (responseCode !== undefined && responseCode >= 500) {
    if (command.startsWith('RCPT')) return failed('for-good', 'address-refused');
    if (command.startsWith('MAIL')) return failed('for-now', 'sender-refused');
    if (command.startsWith('DATA')) return failed('for-good', 'message-refused');
    return failed('for-now', code === 'ETLS' ? 'encryption-failed' : 'busy');
  }
  if (responseCode !== undefined && responseCode >= 400) return failed('for-now', 'busy');
  return failed('for-now', networkCode(error));
}

const withoutSecret = (result: ChannelResult, secret: string | null): ChannelResult =>
  secret === null || secret === '' ? result : { ...result, detail: result.detail.replaceAll(secret, '…') };
