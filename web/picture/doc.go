// Package picture draws the picture that stands for a project where its link is previewed: the cylinder unrolled, with its
// pins and its comb, under the title. It is a pure function of the result: the same result gives the same bytes.
package picture
