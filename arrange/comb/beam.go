package comb

import "math"

// section is the cross-section of a beam that bends out of its plane, with at most one weight bonded under it, in mm, N,
// s and tonnes. Displacements are d = (u, w, ψ, φ): lengthwise and sideways at the tooth's mid-plane, the rotation of
// the tooth's section and that of the weight's, which differ because the weight gives to shear; forces are f = (N, V, M, Mφ).
// The two forms are over (u', ψ', φ') and (u̇, ψ̇, φ̇), integrated over the section:
//
//	elastic energy ½∫E(u' + …)² dA + ½k₁G₁A₁(w' + ψ)² + ½k₂G₂A₂(w' + φ)², kinetic energy ½∫ρ(u̇ + …)² dA + ½·mass·ẇ²
//	soft  = 1/(k₁G₁A₁ + k₂G₂A₂), 0 for a section that does not give to shear
//	share = k₂G₂A₂·soft, the weight's part of the shear force; 0 where no weight bends along
//
// Where share is 0, φ stands for nothing: elastic[2][2] must not be 0 and nothing else may touch it.
type section struct {
	elastic, inertia [3][3]float64
	mass             float64
	soft, share      float64
}

// piece is a length of beam of one section.
type piece struct {
	section
	length float64
}

// beam is a stepped Timoshenko beam, free at its tip and held at its root against moving, not always against turning.
type beam struct {
	pieces []piece // from the root to the tip
	hinge  float64 // stiffness of the root against turning in N·mm, +Inf where it cannot turn
}

// below counts the natural frequencies under omega (rad/s) by the theorem of W. H. Wittrick and F. W. Williams, Quarterly
// Journal of Mechanics and Applied Mathematics 24 (1971) 263 (from memory): they are as many as the negative pivots of the
// exact dynamic stiffness matrix, plus the natural frequencies of its elements held at both ends. Elements are so short
// (steps) that these are none. A count cannot pass over two frequencies that lie close together, as a sign can.
func (b beam) below(omega float64) int {
	count := 0
	var outer matrix // stiffness of all that lies beyond a joint, as felt there
	for i := len(b.pieces) - 1; i >= 0; i-- {
		steps := b.pieces[i].steps(omega)
		c := b.pieces[i].carry(b.pieces[i].length/float64(steps), omega)
		stiff, _ := c.df.inverse()
		held := c.ff.times(stiff) // of an element's far end, its near end held
		for range steps {
			inverse, negative := outer.plus(held).inverse()
			count += negative
			// Not as the difference of two stiffnesses, which would cancel in a short element.
			outer = stiff.times(inverse).times(c.fd.plus(outer.times(c.dd)))
		}
		if i > 0 && b.pieces[i].share > 0 && b.pieces[i-1].share == 0 {
			if outer[3][3] < 0 {
				count++
			}
			outer = outer.released()
		}
	}
	if outer[2][2]+b.hinge < 0 {
		count++
	}
	return count
}

// frequency gives the k-th natural frequency in rad/s, k from 1, to 1e-14 of itself.
func (b beam) frequency(k int) float64 {
	low, high := 0.0, 1.0
	for b.below(high) < k {
		low, high = high, 2*high
	}
	for {
		middle := low + (high-low)/2
		if high-low <= 1e-14*high {
			return middle
		}
		if b.below(middle) < k {
			low = middle
		} else {
			high = middle
		}
	}
}

// bending gives the n lowest natural frequencies in rad/s whose motion is mostly sideways. Where more than half of a
// motion's kinetic energy lies in u, a relative change δ of that inertia lowers the frequency by more than δ/4.
func (b beam) bending(n int) []float64 {
	const change = 1e-6
	heavier := beam{hinge: b.hinge}
	for _, p := range b.pieces {
		p.inertia[0][0] *= 1 + change
		heavier.pieces = append(heavier.pieces, p)
	}
	var found []float64
	for k := 1; len(found) < n; k++ {
		omega := b.frequency(k)
		if heavier.below(omega*(1-change/4)) < k {
			found = append(found, omega)
		}
	}
	return found
}

// steps gives the number of equal elements in which p has no natural frequency at or under omega when each is held at
// both ends. What vanishes at both ends of a length h has ‖f‖ ≤ (h/π)‖f'‖; a form in three variables is at most three
// times its diagonal and at least a third of what each variable costs alone, 1/F with F the diagonal of the inverse. With
// half of that for the lengthwise inertia, half for the sideways, it is enough that
//
//	18ω²·inertia·F·(h/π)² < 1 for each of u, ψ, φ,  12ω²·mass·Fψ·(h/π)⁴ < 1,  2ω²·mass·(h/π)²·soft/(1 − share) < 1.
//
// The last limit keeps the series of carry exact where ψ and φ differ only near the ends of a long thin weight.
func (p piece) steps(omega float64) int {
	w2 := omega * omega
	f := p.flexibility()
	most := 2 * w2 * p.mass * p.soft / (1 - p.share)
	for i := range 3 {
		most = max(most, 18*w2*p.inertia[i][i]*f[i][i])
	}
	most = max(most, math.Sqrt(12*w2*p.mass*f[1][1]))
	if p.share > 0 {
		decay := p.slip() * (f[1][1] + f[2][2] - 2*f[1][2])
		most = max(most, decay*math.Pi*math.Pi/16)
	}
	return 1 + int(p.length*math.Sqrt(most)/math.Pi)
}

// slip is the stiffness of the section, in N, against a difference of ψ and φ.
func (s section) slip() float64 {
	if s.share == 0 {
		return 0
	}
	return s.share * (1 - s.share) / s.soft
}

// flexibility gives (u', ψ', φ') from (N, M, Mφ).
func (s section) flexibility() [3][3]float64 {
	e := s.elastic
	wide, _ := matrix{
		{e[0][0], 0, e[0][1], e[0][2]},
		{0, 1, 0, 0},
		{e[1][0], 0, e[1][1], e[1][2]},
		{e[2][0], 0, e[2][1], e[2][2]},
	}.inverse()
	return [3][3]float64{
		{wide[0][0], wide[0][2], wide[0][3]},
		{wide[2][0], wide[2][2], wide[2][3]},
		{wide[3][0], wide[3][2], wide[3][3]},
	}
}

// carrier gives displacements and forces (d₂, f₂) at the far end of an element from those at its near end.
type carrier struct{ dd, df, fd, ff matrix }

// terms of the exponential's series at most. Nothing grows or turns by more than about e⁴ along an element, and 4⁴⁰/40! < 2e-24.
const terms = 40

// carry gives the carrier of a length h at omega, exp(Ah) with (d, f)' = A(ω)·(d, f):
//
//	w' = soft·V − (1 − share)·ψ − share·φ,  V' = −ω²·mass·w,  (N, M, Mφ) = elastic·(u', ψ', φ'),
//	(N, M, Mφ)' = (0, (1 − share)·V + slip·(ψ − φ), share·V − slip·(ψ − φ)) − ω²·inertia·(u, ψ, φ)
func (s section) carry(h, omega float64) (c carrier) {
	w2, flexibility, slip := omega*omega, s.flexibility(), s.slip()
	slope := func(y [8]float64) (dy [8]float64) {
		dy[1] = s.soft*y[5] - (1-s.share)*y[2] - s.share*y[3]
		dy[5] = -w2 * s.mass * y[1]
		dy[6] = (1-s.share)*y[5] + slip*(y[2]-y[3])
		dy[7] = s.share*y[5] - slip*(y[2]-y[3])
		for i, row := range [3]int{0, 2, 3} {
			for j, column := range [3]int{0, 2, 3} {
				dy[row] += flexibility[i][j] * y[4+column]
				dy[4+row] -= w2 * s.inertia[i][j] * y[column]
			}
		}
		return dy
	}
	for column := range 8 {
		var term [8]float64
		term[column] = 1
		sum := term
		for k := 1; k <= terms; k++ {
			term = slope(term)
			done := true
			for i := range term {
				term[i] *= h / float64(k)
				sum[i] += term[i]
				done = done && math.Abs(term[i]) <= 1e-19*math.Abs(sum[i])
			}
			if done {
				break
			}
		}
		d, f := &c.dd, &c.fd
		if column >= 4 {
			d, f = &c.df, &c.ff
		}
		for i := range 4 {
			d[i][column%4], f[i][column%4] = sum[i], sum[4+i]
		}
	}
	return c
}

// matrix is over (u, w, ψ, φ) or (N, V, M, Mφ).
type matrix [4][4]float64

func (a matrix) plus(b matrix) matrix {
	for i := range a {
		for j := range a[i] {
			a[i][j] += b[i][j]
		}
	}
	return a
}

func (a matrix) times(b matrix) (c matrix) {
	for i := range c {
		for j := range c[i] {
			c[i][j] = a[i][0]*b[0][j] + a[i][1]*b[1][j] + a[i][2]*b[2][j] + a[i][3]*b[3][j]
		}
	}
	return c
}

// inverse gives a's inverse and, where a is symmetric, how many of its eigenvalues are negative (Sylvester's law of
// inertia). The pivots go u, φ, ψ, w: in that order the flexibility of a short element has none near zero.
func (a matrix) inverse() (matrix, int) {
	negative := 0
	for _, p := range [4]int{0, 3, 2, 1} {
		pivot := notZero(a[p][p])
		if pivot < 0 {
			negative++
		}
		a[p][p] = 1
		for j := range a {
			a[p][j] /= pivot
		}
		for i := range a {
			if i == p {
				continue
			}
			f := a[i][p]
			a[i][p] = 0
			for j := range a {
				a[i][j] -= f * a[p][j]
			}
		}
	}
	return a, negative
}

// released gives the stiffness that is left where φ may turn freely.
func (a matrix) released() (c matrix) {
	for i := range 3 {
		for j := range 3 {
			c[i][j] = a[i][j] - a[i][3]*a[3][j]/notZero(a[3][3])
		}
	}
	return c
}

// notZero moves a pivot of zero, which means a natural frequency hit exactly, to its upper side.
func notZero(pivot float64) float64 {
	if pivot == 0 {
		return 1e-200
	}
	return pivot
}
