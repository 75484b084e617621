package main

import (
	"container/list"
	"sync"
)

// lru keeps the values that were used last, as many as fit both bounds.
type lru[K comparable, V any] struct {
	mu                sync.Mutex
	maxCount, maxSize int
	size              int
	order             *list.List // of *kept[K, V]; the front was used last
	byKey             map[K]*list.Element
}

type kept[K comparable, V any] struct {
	key   K
	value V
	size  int
}

func newLRU[K comparable, V any](maxCount, maxSize int) *lru[K, V] {
	return &lru[K, V]{maxCount: maxCount, maxSize: maxSize, order: list.New(), byKey: map[K]*list.Element{}}
}

func (c *lru[K, V]) get(key K) (value V, ok bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	e, ok := c.byKey[key]
	if !ok {
		return value, false
	}
	c.order.MoveToFront(e)
	return e.Value.(*kept[K, V]).value, true
}

// getOr gives the value kept, or keeps and gives a new one of size 1.
func (c *lru[K, V]) getOr(key K, make func() V) V {
	c.mu.Lock()
	defer c.mu.Unlock()
	if e, ok := c.byKey[key]; ok {
		c.order.MoveToFront(e)
		return e.Value.(*kept[K, V]).value
	}
	value := make()
	c.add(key, value, 1)
	return value
}

// put keeps a value, unless it alone is larger than the whole cache may be.
func (c *lru[K, V]) put(key K, value V, size int) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if e, ok := c.byKey[key]; ok {
		c.drop(e)
	}
	if size > c.maxSize {
		return
	}
	c.add(key, value, size)
}

func (c *lru[K, V]) add(key K, value V, size int) {
	c.byKey[key] = c.order.PushFront(&kept[K, V]{key, value, size})
	c.size += size
	for c.order.Len() > c.maxCount || c.size > c.maxSize {
		c.drop(c.order.Back())
	}
}

func (c *lru[K, V]) drop(e *list.Element) {
	k := c.order.Remove(e).(*kept[K, V])
	delete(c.byKey, k.key)
	c.size -= k.size
}
