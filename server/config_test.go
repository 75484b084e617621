package main

import (
	"strings"
	"testing"

	"pinwright/arrange/tune"
)

func TestReadConfig(t *testing.T) {
	plain := Config{Addr: "127.0.0.1:8080", Data: "./data", Limits: tune.DefaultLimits, Rates: Rates{Requests: 1200, Changes: 240}}
	tests := []struct {
		name string
		env  map[string]string
		want func(*Config)
	}{
		{"nothing set", nil, func(*Config) {}},
		{"address and folder", map[string]string{"PINWRIGHT_ADDR": "0.0.0.0:0", "PINWRIGHT_DATA": "/data"},
			func(c *Config) { c.Addr, c.Data = "0.0.0.0:0", "/data" }},
		{"rate off", map[string]string{"PINWRIGHT_RATE": "off"}, func(c *Config) { c.Rates = Rates{} }},
		{"rate on", map[string]string{"PINWRIGHT_RATE": "on"}, func(*Config) {}},
		{"base URL", map[string]string{"PINWRIGHT_BASE_URL": "https://pins.example/"}, func(c *Config) { c.BaseURL = "https://pins.example" }},
		{"limits", map[string]string{"PINWRIGHT_MAX_BYTES": "100", "PINWRIGHT_MAX_EVENTS": "200", "PINWRIGHT_MAX_TRACKS": "3", "PINWRIGHT_MAX_HOURS": "0.5"},
			func(c *Config) { c.Limits = tune.Limits{Bytes: 100, Events: 200, Tracks: 3, MusicMs: 1_800_000} }},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			want := plain
			test.want(&want)
			if got, err := readConfig(func(name string) string { return test.env[name] }); err != nil || got != want {
				t.Errorf("got %+v, %v\nwant %+v", got, err, want)
			}
		})
	}
}

func TestReadConfigRefuses(t *testing.T) {
	tests := []struct{ name, value string }{
		{"PINWRIGHT_DATABASE_URL", "postgres://localhost/pins"},
		{"PINWRIGHT_RATE", "false"},
		{"PINWRIGHT_BASE_URL", "pins.example"},
		{"PINWRIGHT_BASE_URL", "ftp://pins.example"},
		{"PINWRIGHT_BASE_URL", "https://pins.example/path"},
		{"PINWRIGHT_BASE_URL", "https://pins.example?x"},
		{"PINWRIGHT_MAX_BYTES", "8MiB"},
		{"PINWRIGHT_MAX_EVENTS", "0"},
		{"PINWRIGHT_MAX_TRACKS", "-1"},
		{"PINWRIGHT_MAX_BYTES", "9999999999"},
		{"PINWRIGHT_MAX_HOURS", "NaN"},
		{"PINWRIGHT_MAX_HOURS", "0"},
		{"PINWRIGHT_MAX_HOURS", "1e9"},
	}
	for _, test := range tests {
		t.Run(test.name+"="+test.value, func(t *testing.T) {
			_, err := readConfig(func(name string) string {
				if name == test.name {
					return test.value
				}
				return ""
			})
			if err == nil || !strings.Contains(err.Error(), test.name) {
				t.Errorf("got %v; want an error that names %s", err, test.name)
			}
		})
	}
}
