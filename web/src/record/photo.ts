// A picture as it is kept: no longer than needed on its longer side, a JPEG, upright. Drawing it anew leaves
// out what the camera wrote into the file; the server strips what is left once more.
const SIDE_PX = 1600;
const BYTES_MAX = 1_500_000;
const QUALITIES = [0.85, 0.75, 0.6, 0.45];

function drawn(image: ImageBitmap, side: number): HTMLCanvasElement {
  const scale = Math.min(1, side / Math.max(image.width, image.height));
  const canvas = document.createElement('canvas');
  canvas.width = Math.max(1, Math.round(image.width * scale));
  canvas.height = Math.max(1, Math.round(image.height * scale));
  const pen = canvas.getContext('2d');
  if (!pen) throw new Error('no canvas');
  pen.fillStyle = '#fff'; // what is see-through becomes white, as on paper
  pen.fillRect(0, 0, canvas.width, canvas.height);
  pen.drawImage(image, 0, 0, canvas.width, canvas.height);
  return canvas;
}

const jpegOf = (canvas: HTMLCanvasElement, quality: number) =>
  new Promise<Blob | null>((resolve) => canvas.toBlob(resolve, 'image/jpeg', quality));

/** The bytes to keep; throws when the file is no picture that this browser reads. */
export async function smaller(file: Blob): Promise<ArrayBuffer> {
  const image = await createImageBitmap(file, { imageOrientation: 'from-image' });
  try {
    for (let side = SIDE_PX; side >= 400; side /= 2) {
      const canvas = drawn(image, side);
      for (const quality of QUALITIES) {
        const blob = await jpegOf(canvas, quality);
        if (blob && blob.size <= BYTES_MAX) return await blob.arrayBuffer();
      }
    }
  } finally {
    image.close();
  }
  throw new Error('too big');
}

/** For showing it before it is sent: pages here may show pictures of this server and of data: alone. */
export function dataUrl(bytes: ArrayBuffer): Promise<string> {
  return new Promise((resolve, reject) => {
    const reader = new FileReader();
    reader.onload = () => resolve(String(reader.result));
    reader.onerror = () => reject(reader.error ?? new Error('not read'));
    reader.readAsDataURL(new Blob([bytes], { type: 'image/jpeg' }));
  });
}

/** Where the server shows a photo. */
export const photoAddress = (sha256: string): string => `/api/v1/photos/${sha256}`;
