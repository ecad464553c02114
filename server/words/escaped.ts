/**
 * Text as HTML and XML take it, between tags and in quoted attributes. What XML does not allow, or what turns the direction
 * of the text after it, becomes a mark of something lost.
 */
export const escaped = (text: string): string =>
  text
    .replace(/[^\P{Cc}\t\n\r]|\p{Bidi_Control}/gu, '\uFFFD')
    .replace(/[&<>"']/g, (sign) => `&#${sign.charCodeAt(0)};`);
