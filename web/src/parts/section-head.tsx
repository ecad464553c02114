/** The sentence over the drawing and what it rests on. `spoken`: whether a screen reader says it when it changes. */
export function SectionHead(props: { headline: string; detail: string; restsOn: string; spoken: 'polite' | 'off' }) {
  return (
    <div class="headline" aria-live={props.spoken}>
      <h1>{props.headline}</h1>
      <p class="lead">{props.detail}</p>
      <p class="rests-on">{props.restsOn}</p>
    </div>
  );
}
