/* shrink(file) -> {name, type, bytes}: a picture as it is kept on the phone, at most 2,048 px long. What the browser
 * cannot read, and what is small already, stays as it is: the workshop looks at every picture anyway.
 * bounded(width, height) -> [width, height] */

const LONG_SIDE_PX = 2048;
const SMALL_BYTES = 1_000_000;
const QUALITY = 0.86;

export async function shrink(file) {
  const picture = await drawnSmaller(file).catch(() => null);
  const kept = picture ?? file;
  return { name: file.name, type: kept.type, bytes: await kept.arrayBuffer() };
}

/* Width and height, px, as they are kept. */
export function bounded(width, height) {
  const scale = Math.min(1, LONG_SIDE_PX / Math.max(width, height));
  return [width, height].map((side) => Math.max(1, Math.round(side * scale)));
}

async function drawnSmaller(file) {
  // Turned as the camera was held: what says so is not in the picture drawn.
  const image = await createImageBitmap(file, { imageOrientation: "from-image" });
  const [width, height] = bounded(image.width, image.height);
  if (width === image.width && height === image.height && file.size <= SMALL_BYTES) return null;
  const canvas = Object.assign(document.createElement("canvas"), { width, height });
  const pen = canvas.getContext("2d");
  pen.imageSmoothingQuality = "high";
  pen.drawImage(image, 0, 0, width, height);
  image.close();
  return new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", QUALITY));
}
