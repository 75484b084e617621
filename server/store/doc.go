// Package store keeps projects: the tune's bytes, the setup and every decision that was accepted, and nothing else.
package store
