/* shrink(file) -> {name, type, bytes}: a picture as it is kept on the phone, at most 2,048 px long. What the browser
 * cannot read, and what is small already, stays as it is: the workshop looks at every picture anyway. */

const LONG_SIDE_PX = 2048;
const SMALL_BYTES = 1_000_000;
const QUALITY = 0.86;

export async function shrink(file) {
  const picture = await drawnSmaller(file).catch(() => null);
  const kept = picture ?? file;
  return { name: file.name, type: kept.type, bytes: await kept.arrayBuffer() };
}

async function drawnSmaller(file) {
  const image = await createImageBitmap(file);
  const scale = Math.min(1, LONG_SIDE_PX / Math.max(image.width, image.height));
  if (scale === 1 && file.size <= SMALL_BYTES) return null;
  const canvas = document.createElement("canvas");
  [canvas.width, canvas.height] = [Math.round(image.width * scale), Math.round(image.height * scale)];
  canvas.getContext("2d").drawImage(image, 0, 0, canvas.width, canvas.height);
  image.close();
  return new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", QUALITY));
}
