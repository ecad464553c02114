import { useState } from 'preact/hooks';
import type { Photo } from '../../../server/api/contract/photos.ts';
import { addressOf, CallFailed, upload } from '../api/client.ts';
import { useHome } from '../home.ts';
import { Field } from '../parts/form.tsx';
import { failureWords } from '../parts/notice.tsx';
import { number, when, withUnit } from '../words/format.ts';
import { photoWords as t } from '../words/photos.ts';
import '../style/photos.css';

/** As the API's contract has it. */
const MOST_PHOTOS = 12;

/** The photos of a note, small; each leads to the whole of it. */
export function PhotoRow(props: { photos: readonly Photo[] }) {
  const { slug } = useHome();
  if (props.photos.length === 0) return null;
  return (
    <ul class="photo-row">
      {props.photos.map(({ id, alt, width, height }) => (
        <li key={id}>
          <a href={addressOf('getPhoto', { dwelling: slug, id, size: 'full' })} aria-label={t.open(alt || t.untold)}>
            <Thumbnail id={id} alt={alt || t.untold} width={width} height={height} />
          </a>
        </li>
      ))}
    </ul>
  );
}

/** Height of a thumbnail on the page, px. */
const THUMB_HEIGHT = 120;

function Thumbnail(props: { id: number; alt: string; width: number; height: number }) {
  const { slug } = useHome();
  const width = Math.max(40, Math.min(240, Math.round((THUMB_HEIGHT * props.width) / props.height)));
  return (
    <img
      src={addressOf('getPhoto', { dwelling: slug, id: props.id, size: 'thumbnail' })}
      alt={props.alt}
      width={width}
      height={THUMB_HEIGHT}
      loading="lazy"
    />
  );
}

/** A photo of the note that is being written. */
export type Draft = Pick<Photo, 'id' | 'alt' | 'width' | 'height'>;

/** Takes photos in, asks what is to be seen in each, and offers the time they were taken. */
export function PhotoFields(props: {
  photos: readonly Draft[];
  change: (change: (last: readonly Draft[]) => readonly Draft[]) => void;
  useTime: (instant: string) => void;
}) {
  const { slug, zone } = useHome();
  const { photos, change } = props;
  const [sending, setSending] = useState('');
  const [wrong, setWrong] = useState<readonly string[]>([]);
  const [taken, setTaken] = useState<string | null | undefined>(undefined);

  async function take(files: readonly File[]): Promise<void> {
    const free = MOST_PHOTOS - photos.length;
    setWrong(files.length > free ? [t.tooMany(number(MOST_PHOTOS))] : []);
    for (const file of files.slice(0, free)) {
      const say = (share: number) => setSending(t.sending(file.name, withUnit(number(100 * share), '%')));
      say(0);
      try {
        const photo = await upload('addPhoto', { params: { dwelling: slug } }, file, say);
        change((last) => [...last, photo]);
        setTaken((last) => last ?? photo.takenAt);
      } catch (reason) {
        if (!(reason instanceof CallFailed)) throw reason;
        const { failure } = reason;
        setWrong((last) => [...last, t.failed(file.name, failureWords(failure))]);
      }
    }
    setSending('');
  }

  return (
    <fieldset class="photo-fields">
      <legend>{t.photos}</legend>
      {photos.map((photo, i) => (
        <div key={photo.id} class="photo-field">
          <Thumbnail {...photo} alt="" />
          <div>
            <Field label={t.alt} hint={t.altHint}>
              {(ids) => (
                <input
                  {...ids}
                  required
                  maxLength={300}
                  value={photo.alt}
                  onInput={({ currentTarget: { value } }) =>
                    change((last) => last.map((one) => (one.id === photo.id ? { ...one, alt: value } : one)))
                  }
                />
              )}
            </Field>
            <button
              type="button"
              class="plain"
              aria-label={t.remove(number(i + 1))}
              onClick={() => change((last) => last.filter(({ id }) => id !== photo.id))}
            >
              {t.takeOut}
            </button>
          </div>
        </div>
      ))}
      <Field label={t.add} hint={t.addHint(number(MOST_PHOTOS))}>
        {(ids) => (
          <input
            {...ids}
            type="file"
            multiple
            accept="image/jpeg,image/png,image/webp"
            onChange={({ currentTarget }) => {
              const files = [...(currentTarget.files ?? [])];
              currentTarget.value = '';
              void take(files);
            }}
          />
        )}
      </Field>
      <p role="status" class="small">
        {sending}
        {sending === '' && taken !== undefined && (taken === null ? t.noTime : t.takenAt(when(zone, taken, 'full')))}
      </p>
      {sending === '' && taken && (
        <button type="button" onClick={() => props.useTime(taken)}>
          {t.useTime}
        </button>
      )}
      {wrong.map((why) => (
        <p key={why} class="notice tone-act" role="alert">
          {why}
        </p>
      ))}
    </fieldset>
  );
}
