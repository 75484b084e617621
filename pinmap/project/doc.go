// Package project derives everything from a tune, a setup and the user's decisions: the same input always gives the
// same result.
package project
