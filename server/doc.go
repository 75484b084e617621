// Command server runs Pinwright: it reads its configuration from the environment, opens the store, and answers the pages
// and the API. With -health it asks a running server of the same configuration whether it lives, and exits 0 if so.
package main
