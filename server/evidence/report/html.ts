import { createHash } from 'node:crypto';
import { escaped } from '../../words/escaped.ts';
import { type Block, type Document, listed } from './blocks.ts';
import { toSvg } from './svg.ts';

/**
 * The report as one HTML file that needs nothing from elsewhere: no script, no address, pictures and style inside. All
 * text of people is escaped.
 */
export function toHtml({ title, language, foot, blocks }: Document): string {
  const body = blocks.map((block) => html(block, blocks)).join('\n');
  return `<!doctype html>
<html lang="${escaped(language)}">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width">
<meta name="robots" content="noindex">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src '${digestOfStyle(style)}'; img-src data:">
<title>${escaped(title)}</title>
<style>${style}</style>
</head>
<body>
<main>
${body}
</main>
<footer>${escaped(foot)}</footer>
</body>
</html>
`;
}

function html(block: Block, all: readonly Block[]): string {
  switch (block.kind) {
    case 'heading':
      return `<h${block.level} id="${block.id}" class="${block.weight}">${escaped(block.text)}</h${block.level}>`;
    case 'paragraph':
      return `<p${block.tone === undefined ? '' : ` class="${block.tone}"`}>${escaped(block.text)}</p>`;
    case 'list':
      return `<ul>${block.items.map((item) => `<li>${escaped(item)}</li>`).join('')}</ul>`;
    case 'notice':
      return `<aside><strong>${escaped(block.title)}</strong> ${escaped(block.text)}</aside>`;
    case 'table':
      return (
        `<div class="frame" tabindex="0" role="region" aria-label="${escaped(block.caption)}"><table><caption>${escaped(block.caption)}</caption>` +
        `<thead><tr>${block.columns.map(({ title, align }) => `<th scope="col"${align ? ' class="right"' : ''}>${escaped(title)}</th>`).join('')}</tr></thead>` +
        `<tbody>${block.rows
          .map(
            (row) =>
              `<tr>${row
                .map((cell, k) => {
                  const right = block.columns[k]?.align ? ' class="right"' : '';
                  return k === 0
                    ? `<th scope="row"${right}>${escaped(cell)}</th>`
                    : `<td${right}>${escaped(cell)}</td>`;
                })
                .join('')}</tr>`,
          )
          .join('')}</tbody></table></div>`
      );
    case 'drawing':
      return `<figure>${toSvg(block.scene)}<figcaption>${escaped(block.caption)}</figcaption></figure>`;
    case 'photo':
      return `<figure><img alt="${escaped(block.alt)}" src="data:image/jpeg;base64,${Buffer.from(block.jpeg).toString('base64')}"><figcaption>${escaped(block.caption)}</figcaption></figure>`;
    case 'page':
      return '<hr>';
    case 'contents': {
      const entries = listed(all);
      return `<nav aria-label="${escaped(block.title)}"><h2>${escaped(block.title)}</h2><ol>${entries
        .map(({ id, text }) => `<li><a href="#${id}">${escaped(text)}</a></li>`)
        .join('')}</ol></nav>`;
    }
  }
}

const digestOfStyle = (text: string): string => `sha256-${createHash('sha256').update(text).digest('base64')}`;

/** What a content security policy must let through for a report to look as it does: its own style, by its digest. */
export function styleSource(report: string): string {
  const found = /<style>([^<]*)<\/style>/.exec(report)?.[1];
  return found === undefined ? "'none'" : `'${digestOfStyle(found)}'`;
}

/** The look of the page: paper, ink, one accent; in print, page breaks where the PDF has them. */
const style = `
:root{color-scheme:light}
body{margin:0;overflow-wrap:anywhere;background:#faf7f0;color:#1b2830;font:1rem/1.5 system-ui,"Segoe UI","Liberation Sans",Arial,sans-serif}
main,footer{max-width:46rem;margin:0 auto;padding:1rem}
h1,h2,h3{font-family:Charter,Georgia,"Liberation Serif",serif;font-weight:normal;line-height:1.2}
h1{font-size:2rem}h2{font-size:1.5rem;margin-top:2.5rem;border-top:1px solid #cfc5ae;padding-top:1rem}h3{font-size:1.15rem}
h2.minor{font-size:1.15rem;margin-top:1.2rem;border:0;padding:0}.lead{font-size:1.15rem}.small,figcaption,caption,footer{font-size:.875rem;color:#4a5961}
aside{border:1px solid #9a4f1a;padding:.6rem .8rem;margin:1rem 0}
.frame{overflow-x:auto}table{border-collapse:collapse;width:100%;font-size:.875rem}caption{text-align:left;padding:.3rem 0}
th,td{text-align:left;vertical-align:top;padding:.3rem .6rem .3rem 0;border-bottom:1px solid #cfc5ae;font-weight:normal;overflow-wrap:anywhere}
thead th{border-bottom-color:#1b2830;color:#4a5961}.right{text-align:right}
figure{margin:1.2rem 0}svg,img{max-width:100%;height:auto;background:#fff}svg text{font-family:system-ui,"Liberation Sans",Arial,sans-serif}
hr{border:0;break-after:page}a{color:inherit}
@media print{body{background:#fff}h2,h3{break-after:avoid}figure,tr{break-inside:avoid}footer{position:static}}
`;
