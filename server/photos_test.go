package server_test

import (
	"bytes"
	"context"
	"image"
	"image/jpeg"
	"image/png"
	"io"
	"net/http"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestAPhotoIsServedAsWhatItIs(t *testing.T) {
	s := serve(t)
	var picture bytes.Buffer
	require.NoError(t, png.Encode(&picture, image.NewGray(image.Rect(0, 0, 4, 4))))
	name, err := s.bench.AddPhoto(context.Background(), picture.Bytes())
	require.NoError(t, err)
	fetch := func(known string) (*http.Response, []byte) {
		req, err := http.NewRequest(http.MethodGet, s.url+"/photos/"+name, nil)
		require.NoError(t, err)
		if known != "" {
			req.Header.Set("If-None-Match", known)
		}
		res, err := http.DefaultClient.Do(req)
		require.NoError(t, err)
		defer res.Body.Close()
		data, err := io.ReadAll(res.Body)
		require.NoError(t, err)
		return res, data
	}
	res, data := fetch("")
	require.Equal(t, http.StatusOK, res.StatusCode)
	shown, err := jpeg.Decode(bytes.NewReader(data))
	require.NoError(t, err)
	assert.Equal(t, image.Rect(0, 0, 4, 4), shown.Bounds())
	assert.Equal(t, "image/jpeg", res.Header.Get("Content-Type"))
	assert.Equal(t, "nosniff", res.Header.Get("X-Content-Type-Options"))
	assert.Equal(t, "private, max-age=31536000, immutable", res.Header.Get("Cache-Control"))
	res, data = fetch(res.Header.Get("ETag"))
	assert.Equal(t, http.StatusNotModified, res.StatusCode)
	assert.Empty(t, data)

	status, body := get(t, s.url+"/photos/"+name[1:])
	assert.Equal(t, http.StatusNotFound, status)
	assert.Contains(t, body, "There is no such picture")
}
