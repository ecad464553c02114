import { type MessageLanguage, messageLanguages } from '../analysis/delivery-vocabulary.ts';
import { deDelivery } from './de-delivery.ts';
import type { DeliveryWords } from './delivery-words.ts';
import { enDelivery } from './en-delivery.ts';

const inLanguage: Readonly<Record<MessageLanguage, DeliveryWords>> = { en: enDelivery, de: deDelivery };

/** The language that is written for a tag (BCP 47), English where there is none. */
export const messageLanguage = (tag: string): MessageLanguage =>
  messageLanguages.find((one) => one === tag.split('-')[0]) ?? 'en';

export const deliveryWords = (tag: string): DeliveryWords => inLanguage[messageLanguage(tag)];
