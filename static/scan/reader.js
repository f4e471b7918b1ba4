// Reads the code in a picture. The decoder is large and comes from this server
// the first time it is needed.

const options = {formats: ['QRCode'], maxNumberOfSymbols: 1, tryDenoise: true};

let ready;

// prepare fetches the decoder.
export function prepare() {
  ready ||= new Promise((resolve, reject) => {
    const script = document.createElement('script');
    script.src = new URL('zxing/reader.js', import.meta.url);
    script.onload = resolve;
    script.onerror = reject;
    document.head.append(script);
  }).then(() => ZXingWASM.prepareZXingModule({
    // Without this it would ask another server for the file.
    overrides: {locateFile: name => new URL('zxing/' + name, import.meta.url).href}, fireImmediately: true,
  })).catch(err => { ready = null; throw err; });
  return ready;
}

const canvas = document.createElement('canvas');
const pen = canvas.getContext('2d', {willReadFrequently: true});

// read gives the text of the code in a picture, '' for none.
export async function read(picture, width, height) {
  await prepare();
  if (canvas.width !== width || canvas.height !== height) [canvas.width, canvas.height] = [width, height];
  pen.drawImage(picture, 0, 0, width, height);
  const found = await ZXingWASM.readBarcodes(pen.getImageData(0, 0, width, height), options);
  return found.length ? found[0].text : '';
}

// readPhoto reads a photo. A small copy is tried first because it is quick, a
// larger one when that fails; never the whole, which some phones cannot hold.
export async function readPhoto(file) {
  await prepare();
  for (const width of [1600, 3200]) {
    const copy = await createImageBitmap(file, {resizeWidth: width, resizeQuality: 'medium'});
    const text = await read(copy, copy.width, copy.height);
    copy.close();
    if (text) return text;
  }
  return '';
}
