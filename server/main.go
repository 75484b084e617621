package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"os/signal"
	"syscall"
	"time"

	"pinwright/server/store"
)

func main() {
	health := flag.Bool("health", false, "ask a running server whether it lives, and exit")
	flag.Parse()
	ctx, stop := signal.NotifyContext(context.Background(), syscall.SIGINT, syscall.SIGTERM)
	defer stop()
	run := serve
	if *health {
		run = askHealth
	}
	if err := run(ctx, os.Getenv, os.Stderr); err != nil {
		fmt.Fprintln(os.Stderr, "pinwright:", err)
		os.Exit(1)
	}
}

// Limits of time of a connection. An upload of the greatest size takes a slow line its time; an answer waits for its
// derivation.
const (
	headerTime = 5 * time.Second
	readTime   = 60 * time.Second
	writeTime  = readTime + longestWork + 30*time.Second
	idleTime   = 120 * time.Second
	stopTime   = 20 * time.Second
	maxHeader  = 32 << 10
)

// serve runs the server until ctx ends, then lets the requests under way come to their end.
func serve(ctx context.Context, env func(string) string, journal io.Writer) (err error) {
	config, err := readConfig(env)
	if err != nil {
		return err
	}
	log := slog.New(slog.NewJSONHandler(journal, nil))
	s, err := store.OpenSQLite(ctx, config.Data)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	a, err := newApp(config, s, log)
	if err != nil {
		return err
	}
	listener, err := net.Listen("tcp", config.Addr)
	if err != nil {
		return fmt.Errorf("listen: %w", err)
	}
	server := &http.Server{
		Handler:           a.routes,
		ReadHeaderTimeout: headerTime,
		ReadTimeout:       readTime,
		WriteTimeout:      writeTime,
		IdleTimeout:       idleTime,
		MaxHeaderBytes:    maxHeader,
		ErrorLog:          slog.NewLogLogger(log.Handler(), slog.LevelWarn),
	}
	log.Info("listening", slog.String("addr", listener.Addr().String()))
	ended := make(chan error, 1)
	go func() { ended <- server.Serve(listener) }()
	select {
	case err := <-ended:
		return fmt.Errorf("serve: %w", err)
	case <-ctx.Done():
	}
	log.Info("stopping")
	grace, cancel := context.WithTimeout(context.Background(), stopTime)
	defer cancel()
	if err := server.Shutdown(grace); err != nil {
		return fmt.Errorf("stop: %w", err)
	}
	return nil
}

// askHealth asks the server of this configuration whether it lives.
func askHealth(ctx context.Context, env func(string) string, _ io.Writer) error {
	config, err := readConfig(env)
	if err != nil {
		return err
	}
	host, port, err := net.SplitHostPort(config.Addr)
	if err != nil {
		return fmt.Errorf("PINWRIGHT_ADDR: %w", err)
	}
	if ip := net.ParseIP(host); host == "" || ip != nil && ip.IsUnspecified() {
		host = "127.0.0.1"
	}
	ctx, cancel := context.WithTimeout(ctx, 3*time.Second)
	defer cancel()
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, "http://"+net.JoinHostPort(host, port)+"/healthz", nil)
	if err != nil {
		return err
	}
	response, err := http.DefaultClient.Do(request)
	if err != nil {
		return err
	}
	defer response.Body.Close()
	if response.StatusCode != http.StatusOK {
		return fmt.Errorf("the server answers %s", response.Status)
	}
	return nil
}
