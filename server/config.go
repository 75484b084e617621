package main

import (
	"errors"
	"fmt"
	"net/url"
	"strconv"
	"strings"

	"pinwright/arrange/tune"
	"pinwright/arrange/unit"
)

// Config is all that the environment can set.
type Config struct {
	Addr    string // host and port to listen on; port 0 takes any free one
	Data    string // folder of the embedded database
	BaseURL string // scheme and host of the links that are given out; empty takes them from the request
	Limits  tune.Limits
	Rates   Rates
}

// Rates bound what one address may ask in a minute; 0 sets no bound.
type Rates struct {
	Requests int // of any kind
	Changes  int // that upload, store or change something
}

// readConfig reads the configuration from the environment, given as a function such as os.Getenv.
func readConfig(env func(string) string) (Config, error) {
	c := Config{
		Addr:   or(env("PINWRIGHT_ADDR"), "127.0.0.1:8080"),
		Data:   or(env("PINWRIGHT_DATA"), "./data"),
		Limits: tune.DefaultLimits,
		Rates:  Rates{Requests: 1200, Changes: 240},
	}
	if env("PINWRIGHT_DATABASE_URL") != "" {
		return c, errors.New("PINWRIGHT_DATABASE_URL is set, but this version has only the embedded database; unset it and use PINWRIGHT_DATA")
	}
	switch rate := env("PINWRIGHT_RATE"); rate {
	case "", "on":
	case "off":
		c.Rates = Rates{}
	default:
		return c, fmt.Errorf("PINWRIGHT_RATE is %q; it is on or off", rate)
	}
	if base := env("PINWRIGHT_BASE_URL"); base != "" {
		u, err := url.Parse(base)
		if err != nil || u.Scheme != "http" && u.Scheme != "https" || u.Host == "" || strings.Trim(u.Path, "/") != "" || u.RawQuery != "" {
			return c, fmt.Errorf("PINWRIGHT_BASE_URL is %q; it is a scheme and a host, such as https://pins.example", base)
		}
		c.BaseURL = u.Scheme + "://" + u.Host
	}
	for name, limit := range map[string]*int{
		"PINWRIGHT_MAX_BYTES":  &c.Limits.Bytes,
		"PINWRIGHT_MAX_EVENTS": &c.Limits.Events,
		"PINWRIGHT_MAX_TRACKS": &c.Limits.Tracks,
	} {
		if text := env(name); text != "" {
			n, err := strconv.ParseInt(text, 10, 31)
			if err != nil || n < 1 {
				return c, fmt.Errorf("%s is %q; it is a whole number from 1 to %d", name, text, 1<<30)
			}
			*limit = int(n)
		}
	}
	if text := env("PINWRIGHT_MAX_HOURS"); text != "" {
		hours, err := strconv.ParseFloat(text, 64)
		if err != nil || !(hours > 0 && hours <= 10_000) {
			return c, fmt.Errorf("PINWRIGHT_MAX_HOURS is %q; it is a number above 0 and up to 10000", text)
		}
		c.Limits.MusicMs = unit.Milliseconds(hours * 3_600_000)
	}
	return c, nil
}

func or(text, otherwise string) string {
	if text == "" {
		return otherwise
	}
	return text
}
