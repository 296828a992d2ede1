package main

import (
	"bytes"
	"context"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"netreel/media/fault"
)

// client speaks to the server's own API as one signed-in person, the way a
// page does. The demo uses it, so that its footage goes the real way.
type client struct {
	base string
	http *http.Client
}

// signIn uses a one-time link up and returns a client that is signed in.
func signIn(ctx context.Context, base, secret string) (*client, error) {
	jar, err := cookiejar.New(nil)
	if err != nil {
		return nil, err
	}
	c := &client{base: base, http: &http.Client{Jar: jar}}
	return c, c.post(ctx, "/api/links/"+secret, struct{}{}, nil)
}

func (c *client) get(ctx context.Context, path string, out any) error {
	return c.do(ctx, http.MethodGet, path, nil, out)
}

func (c *client) post(ctx context.Context, path string, in, out any) error {
	return c.do(ctx, http.MethodPost, path, in, out)
}

func (c *client) put(ctx context.Context, path string, in, out any) error {
	return c.do(ctx, http.MethodPut, path, in, out)
}

// do sends a JSON request and reads a JSON answer. A problem document becomes
// a fault with its detail as the message.
func (c *client) do(ctx context.Context, method, path string, in, out any) error {
	var body io.Reader
	if in != nil {
		b, err := json.Marshal(in)
		if err != nil {
			return err
		}
		body = bytes.NewReader(b)
	}
	req, err := http.NewRequestWithContext(ctx, method, c.base+path, body)
	if err != nil {
		return err
	}
	if in != nil {
		req.Header.Set("Content-Type", "application/json")
	}
	resp, err := c.http.Do(req)
	if err != nil {
		return err
	}
	defer func() { _ = resp.Body.Close() }()
	if resp.StatusCode >= 400 {
		return problemOf(method+" "+path, resp)
	}
	if out == nil {
		_, err = io.Copy(io.Discard, resp.Body)
		return err
	}
	return json.NewDecoder(resp.Body).Decode(out)
}

func problemOf(op string, resp *http.Response) error {
	var p struct {
		Detail string        `json:"detail"`
		Errors []fault.Field `json:"errors"`
	}
	raw, _ := io.ReadAll(io.LimitReader(resp.Body, 64<<10))
	if json.Unmarshal(raw, &p) != nil || p.Detail == "" {
		p.Detail = strings.TrimSpace(string(raw))
	}
	return fault.New(fault.Internal, op, fmt.Sprintf("%d: %s", resp.StatusCode, p.Detail), p.Errors...)
}

// tusChunk is how much the client sends in one PATCH.
const tusChunk = 8 << 20

// upload sends a file by the tus 1.0 protocol, one chunk a request.
func (c *client) upload(ctx context.Context, path string, session int64, camera string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer func() { _ = f.Close() }()
	info, err := f.Stat()
	if err != nil {
		return err
	}
	uploads, err := url.Parse(c.base + "/api/uploads/")
	if err != nil {
		return err
	}
	said, err := c.tus(ctx, http.MethodPost, uploads, nil, map[string]string{
		"Upload-Length": strconv.FormatInt(info.Size(), 10), "Upload-Metadata": uploadMeta(filepath.Base(path), session, camera),
	})
	if err != nil {
		return err
	}
	at, err := uploads.Parse(said.Get("Location"))
	if err != nil {
		return err
	}
	for sent := int64(0); sent < info.Size(); {
		n := min(tusChunk, info.Size()-sent)
		said, err := c.tus(ctx, http.MethodPatch, at, io.NewSectionReader(f, sent, n), map[string]string{
			"Content-Type": "application/offset+octet-stream", "Upload-Offset": strconv.FormatInt(sent, 10),
		})
		if err != nil {
			return err
		}
		if sent, err = strconv.ParseInt(said.Get("Upload-Offset"), 10, 64); err != nil {
			return err
		}
	}
	return nil
}

// uploadMeta says what a file is, in the protocol's way.
func uploadMeta(name string, session int64, camera string) string {
	b64 := func(s string) string { return base64.StdEncoding.EncodeToString([]byte(s)) }
	return fmt.Sprintf("filename %s,session %s,camera %s", b64(name), b64(strconv.FormatInt(session, 10)), b64(camera))
}

// tus makes one request of the protocol and returns the answer's header.
func (c *client) tus(ctx context.Context, method string, at *url.URL, body io.Reader, header map[string]string) (http.Header, error) {
	req, err := http.NewRequestWithContext(ctx, method, at.String(), body)
	if err != nil {
		return nil, err
	}
	req.Header.Set("Tus-Resumable", "1.0.0")
	for k, v := range header {
		req.Header.Set(k, v)
	}
	resp, err := c.http.Do(req)
	if err != nil {
		return nil, err
	}
	defer func() { _ = resp.Body.Close() }()
	if resp.StatusCode >= 400 {
		return nil, problemOf(method+" "+at.Path, resp)
	}
	_, err = io.Copy(io.Discard, resp.Body)
	return resp.Header, err
}
