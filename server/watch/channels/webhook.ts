import { lookup as systemLookup } from 'node:dns/promises';
import { request as requestInClear } from 'node:http';
import { request as requestEncrypted } from 'node:https';
import { isIP, type LookupFunction } from 'node:net';
import { rootCertificates } from 'node:tls';
import type { Channel, ChannelResult, Parcel } from './channel.ts';
import { detailOf, networkCode, networkDetail } from './failures.ts';
import { type AllowedRanges, isPublicAddress } from './public-address.ts';
import { signatureOf } from './signature.ts';

export interface ResolvedAddress {
  readonly address: string;
  readonly family: number;
}

export interface WebhookOptions {
  /** of the program, for its name in requests */
  readonly version: string;
  readonly allowed: AllowedRanges;
  /** certificates to trust beside those that come with Node.js, PEM */
  readonly authorities: readonly string[];
  readonly clock: () => number;
  /** finds the addresses of a host name */
  readonly lookup?: (host: string) => Promise<readonly ResolvedAddress[]>;
  /** the whole exchange must end within, ms */
  readonly timeoutMs?: number;
}

const TIMEOUT_MS = 20_000;
const MOST_ANSWER_BYTES = 4096;
const LONGEST_RETRY_AFTER_MS = 6 * 3_600_000;

/**
 * Posts the message as signed JSON. The host's name is resolved once, every address it gives is judged, and the connection is
 * made to one of those very addresses, so that a name that changes its mind in between gains nothing. Redirects are not
 * followed.
 */
export function webhookChannel(options: WebhookOptions): Channel {
  const { lookup = (host) => systemLookup(host, { all: true }) } = options;
  return async (parcel) => {
    const url = readWebhookUrl(parcel.recipient.address);
    if (url === null) return { kind: 'for-good', code: 'bad-address', detail: '' };
    try {
      const host = url.hostname.replace(/^\[|\]$/g, '');
      const addresses = isIP(host) === 0 ? await lookup(host) : [{ address: host, family: isIP(host) }];
      const refused = refusal(url, addresses, options.allowed);
      if (refused !== null) return refused;
      return await post(url, addresses, parcel, options);
    } catch (error) {
      return { kind: 'for-now', code: networkCode(error), detail: networkDetail(error) };
    }
  };
}

/** A webhook's address: http or https, with no user name or password in it; null: it is not one. */
export function readWebhookUrl(address: string): URL | null {
  if (!URL.canParse(address)) return null;
  const url = new URL(address);
  const plain = url.username === '' && url.password === '' && url.hostname !== '';
  return plain && (url.protocol === 'https:' || url.protocol === 'http:') ? url : null;
}

/** In clear only to addresses that the owner allowed by name; elsewhere only to public ones, encrypted. */
function refusal(url: URL, addresses: readonly ResolvedAddress[], allowed: AllowedRanges): ChannelResult | null {
  const others = addresses.filter(({ address }) => !allowed.allows(address));
  const hidden = others.find(({ address }) => !isPublicAddress(address));
  if (hidden !== undefined) return { kind: 'for-good', code: 'private-address', detail: hidden.address };
  if (url.protocol === 'http:' && others.length > 0) return { kind: 'for-good', code: 'not-encrypted', detail: '' };
  return null;
}

/** The body of a delivery; the same bytes at every attempt. */
export const webhookBody = ({ key, delivery, dwelling }: Parcel): string =>
  JSON.stringify({
    id: key,
    event: delivery.event,
    dwelling: { slug: dwelling.slug, name: dwelling.name },
    notice_id: delivery.noticeId,
    created_at: new Date(delivery.createdAt).toISOString(),
    subject: delivery.body.subject,
    text: delivery.body.text,
    data: delivery.body.data,
  });

function post(
  url: URL,
  addresses: readonly ResolvedAddress[],
  parcel: Parcel,
  { version, authorities, clock, timeoutMs = TIMEOUT_MS }: WebhookOptions,
): Promise<ChannelResult> {
  const body = webhookBody(parcel);
  const timestamp = Math.floor(clock() / 1000);
  const request = url.protocol === 'https:' ? requestEncrypted : requestInClear;
  return new Promise((resolve) => {
    const sent = request(url, {
      method: 'POST',
      agent: false,
      lookup: pinned(addresses),
      headers: {
        'content-type': 'application/json; charset=utf-8',
        'content-length': Buffer.byteLength(body),
        'user-agent': `coomb/${version}`,
        'idempotency-key': parcel.key,
        'coomb-timestamp': String(timestamp),
        'coomb-signature': `v1=${signatureOf(parcel.recipient.secret ?? '', timestamp, body)}`,
      },
      ...(authorities.length === 0 ? {} : { ca: [...rootCertificates, ...authorities] }),
    });
    const end = (result: ChannelResult): void => {
      clearTimeout(timer);
      resolve(result);
      sent.destroy();
    };
    const timer = setTimeout(() => end({ kind: 'for-now', code: 'timed-out', detail: '' }), timeoutMs);
    sent.on('error', (error) => end({ kind: 'for-now', code: networkCode(error), detail: networkDetail(error) }));
    sent.on('response', (response) => {
      const { statusCode = 0, statusMessage = '' } = response;
      // The status line is the answer; what follows it is read only for the people, as far as it is short and quick.
      if (statusCode >= 200 && statusCode < 300) {
        end({ kind: 'taken', detail: detailOf(`${statusCode} ${statusMessage}`) });
        return;
      }
      let text = '';
      response.setEncoding('utf8');
      const told = (): void =>
        end(
          answerMeaning(
            statusCode,
            detailOf(`${statusCode} ${statusMessage}: ${text}`),
            retryAfter(response.headers['retry-after'], clock()),
          ),
        );
      response.on('data', (piece: string) => {
        text += piece;
        if (text.length > MOST_ANSWER_BYTES) told();
      });
      response.on('end', told);
      response.on('error', told);
      response.on('close', told);
    });
    sent.end(body);
  });
}

/** Gives the addresses found before, whatever is asked. */
const pinned =
  (addresses: readonly ResolvedAddress[]): LookupFunction =>
  (_host, { all }, callback) => {
    if (all === true) callback(null, [...addresses]);
    else callback(null, addresses[0]!.address, addresses[0]!.family);
  };

/** 4xx is for good but where the status itself says "later" (RFC 9110, 15.5; RFC 6585, 4; RFC 8470, 5.2). */
const WORTH_ANOTHER_TRY: readonly number[] = [408, 425, 429];
const NOT_WORTH_IT: readonly number[] = [501, 505];

function answerMeaning(status: number, detail: string, retryAfterMs: number | null): ChannelResult {
  if (status >= 300 && status < 400) return { kind: 'for-good', code: 'moved', detail };
  if (WORTH_ANOTHER_TRY.includes(status) || (status >= 500 && !NOT_WORTH_IT.includes(status))) {
    return { kind: 'for-now', code: 'busy', detail, ...(retryAfterMs === null ? {} : { retryAfterMs }) };
  }
  return { kind: 'for-good', code: 'message-refused', detail };
}

/** Retry-After (RFC 9110, 10.2.3): seconds or a date. */
function retryAfter(header: string | undefined, now: number): number | null {
  if (header === undefined) return null;
  const ms = /^\d{1,9}$/.test(header) ? Number(header) * 1000 : Date.parse(header) - now;
  return ms > 0 ? Math.min(ms, LONGEST_RETRY_AFTER_MS) : null;
}
