module pinwright

go 1.26
