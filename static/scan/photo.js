// Makes a photo small enough for a weak network before it is kept.

const width = 1600;      // px, as for a code in a photo
const little = 300_000;  // bytes that need no work

// smaller gives a photo as bytes that a browser can show.
export async function smaller(file) {
  if (file.size < little && /^image\/(jpeg|png|webp)$/.test(file.type)) return file.arrayBuffer();
  const copy = await createImageBitmap(file, {resizeWidth: width, resizeQuality: 'medium'});
  const canvas = document.createElement('canvas');
  [canvas.width, canvas.height] = [copy.width, copy.height];
  canvas.getContext('2d').drawImage(copy, 0, 0);
  copy.close();
  const blob = await new Promise(resolve => canvas.toBlob(resolve, 'image/jpeg', .8));
  return blob.arrayBuffer();
}
