# The program is one static file; pages, styles and migrations are inside it.
# Another image with Go can be named: docker build --build-arg GO_IMAGE=...
ARG GO_IMAGE=golang:1.26-bookworm

FROM ${GO_IMAGE} AS build
WORKDIR /src
COPY go.mod go.sum ./
RUN go mod download
COPY . .
ARG VERSION=dev
RUN CGO_ENABLED=0 go build -trimpath -ldflags "-s -w -X main.version=${VERSION}" -o /out/damperdesk ./cmd/damperdesk \
    && mkdir -p /out/data

FROM scratch
COPY --from=build /etc/ssl/certs/ca-certificates.crt /etc/ssl/certs/
COPY --from=build /out/damperdesk /damperdesk
COPY --from=build --chown=65532:65532 /out/data /data
USER 65532:65532
ENV DAMPERDESK_DATA=/data DAMPERDESK_LISTEN=0.0.0.0:8080
VOLUME /data
EXPOSE 8080
ENTRYPOINT ["/damperdesk"]
CMD ["serve"]
