// Command server runs Pinwright: it reads its configuration from the environment, opens the store, and answers the pages
// and the API, which openapi.json describes. With -health it asks a running server of the same configuration whether it
// lives, and exits 0 if so.
//
//	PINWRIGHT_ADDR        host and port, 127.0.0.1:8080; port 0 takes any free one, and the log says which
//	PINWRIGHT_DATA        folder of the embedded database, ./data
//	PINWRIGHT_BASE_URL    scheme and host of the links that are given out, where a proxy stands in front
//	PINWRIGHT_RATE        off lifts the rate limits; a proxy looks like one address, so there it limits them
//	PINWRIGHT_MAX_BYTES   of a tune, 8388608
//	PINWRIGHT_MAX_EVENTS  of a tune, 1000000
//	PINWRIGHT_MAX_TRACKS  of a tune, 65535
//	PINWRIGHT_MAX_HOURS   of a tune, 24
package main
