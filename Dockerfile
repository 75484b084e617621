# Builds one static binary and runs it as an ordinary user, with nothing else in the image.
#
#   docker build -t pinwright .
#   docker run -p 127.0.0.1:8080:8080 -v pinwright-data:/data pinwright

FROM golang:1.26 AS build
WORKDIR /src
COPY go.mod go.sum ./
RUN go mod download
COPY arrange arrange
COPY fixtures fixtures
COPY pinmap pinmap
COPY server server
COPY static static
COPY web web
RUN CGO_ENABLED=0 go build -trimpath -ldflags="-s -w" -o /pinwright ./server && mkdir /data

FROM scratch
COPY LICENSE /LICENSE
COPY --from=build /pinwright /pinwright
COPY --from=build --chown=65532:65532 /data /data
ENV PINWRIGHT_ADDR=0.0.0.0:8080 PINWRIGHT_DATA=/data
USER 65532:65532
VOLUME /data
EXPOSE 8080
HEALTHCHECK --interval=30s --timeout=5s --start-period=10s CMD ["/pinwright", "-health"]
ENTRYPOINT ["/pinwright"]
