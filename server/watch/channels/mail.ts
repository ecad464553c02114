import type { SendMailOptions } from 'nodemailer';
import { deliveryWords } from '../../words/delivery.ts';
import { escaped } from '../../words/escaped.ts';
import type { Parcel } from './channel.ts';
import { detailOf } from './failures.ts';

/** An address of the form that RFC 5321 calls a mailbox, without quoting: nothing in it can end a header or begin another. */
const mailbox = /^[\w.!#$%&'*+/=?^`{|}~-]{1,64}@[\p{L}\p{N}](?:[\p{L}\p{N}.-]{0,252}[\p{L}\p{N}])?$/u;

export const isMailbox = (address: string): boolean => mailbox.test(address);

/** Who mails come from. */
export interface Sender {
  readonly name: string;
  readonly address: string;
}

/**
 * A message as a mail. Everything in it that the recipient's program goes by, Message-ID and Date too, is the same at
 * every attempt, so that a copy is known as one.
 *
 * @source RFC 5322 (form), RFC 2369 and RFC 8058 (List-Unsubscribe, with one click over https), RFC 3834 (Auto-Submitted)
 */
export function mailOf({ delivery, recipient, dwelling, key, unsubscribeUrl }: Parcel, from: Sender): SendMailOptions {
  const words = deliveryWords(recipient.language);
  const { subject, text } = delivery.body;
  const footer = [
    words.why(dwelling.name),
    words.indicates,
    unsubscribeUrl === null ? words.stopByAsking : `${words.stop} ${unsubscribeUrl}`,
  ];
  return {
    from: { name: from.name, address: from.address },
    to: { name: detailOf(recipient.name), address: recipient.address },
    subject: detailOf(subject),
    date: new Date(Math.max(delivery.createdAt, delivery.notBefore)),
    messageId: `<${key}@${from.address.slice(from.address.lastIndexOf('@') + 1)}>`,
    headers: {
      'Auto-Submitted': 'auto-generated',
      ...(unsubscribeUrl === null ? {} : { 'List-Unsubscribe': { prepared: true, value: `<${unsubscribeUrl}>` } }),
      ...(unsubscribeUrl?.startsWith('https:') ? { 'List-Unsubscribe-Post': 'List-Unsubscribe=One-Click' } : {}),
    },
    // delimits the footer as mail programs know it (RFC 3676, 4.3)
    text: `${text}\n\n-- \n${footer.join('\n')}\n`,
    html: page(recipient.language, subject, text, footer, unsubscribeUrl),
  };
}

function page(language: string, subject: string, text: string, footer: readonly string[], url: string | null): string {
  const paragraphs = text.split(/\n{2,}/).map((one) => `<p>${escaped(one).replaceAll('\n', '<br>')}</p>`);
  const small = footer.map((line) => {
    const safe = escaped(line);
    return url === null ? safe : safe.replace(escaped(url), `<a href="${escaped(url)}">${escaped(url)}</a>`);
  });
  return [
    `<!doctype html><html lang="${escaped(language)}"><head><meta charset="utf-8"><title>${escaped(subject)}</title></head>`,
    '<body style="font-family:Georgia,serif;font-size:16px;line-height:1.5;max-width:38em">',
    ...paragraphs,
    `<hr><p style="font-size:13px">${small.join('<br>')}</p>`,
    '</body></html>',
  ].join('\n');
}
