// Shows `page` in the frame, measures it and leaves the result in the document.
const frame = document.querySelector('iframe');
frame.addEventListener('load', () => {
  const shown = frame.contentDocument;
  const cramped = [];
  const apart = (one, other) =>
    one.right <= other.left + 1 || other.right <= one.left + 1 || one.bottom <= other.top + 3 || other.bottom <= one.top + 3;
  for (const drawing of shown.querySelectorAll('svg')) {
    const edge = drawing.getBoundingClientRect();
    const pieces = [...drawing.querySelectorAll('text')].map(text => [text.textContent, text.getBoundingClientRect()]);
    pieces.forEach(([words, box], index) => {
      if (box.left < edge.left - 1 || box.right > edge.right + 1 || box.top < edge.top - 1 || box.bottom > edge.bottom + 1) {
        cramped.push(words);
      }
      for (const [others, other] of pieces.slice(index + 1)) {
        if (!apart(box, other)) cramped.push(`${words} / ${others}`);
      }
    });
  }
  const result = document.createElement('pre');
  result.textContent = JSON.stringify({ width: shown.documentElement.scrollWidth, cramped });
  document.body.replaceChildren(result);
});
frame.srcdoc = page;
