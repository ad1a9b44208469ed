package dbtest

import (
	"context"
	"fmt"
	"net"
	"net/url"
	"os"

	_ "github.com/jackc/pgx/v5/stdlib" // the driver that the container's readiness probe uses
	"github.com/moby/moby/api/types/network"
	"github.com/testcontainers/testcontainers-go"
	"github.com/testcontainers/testcontainers-go/wait"

	"damperdesk/internal/cluster"
)

// server is a PostgreSQL for this test process.
type server struct {
	url  string // a login that may create databases and roles
	stop func() error
}

// start finds a server: the address given, else local binaries, else Docker.
func start(ctx context.Context) (server, error) {
	if given := os.Getenv("DAMPERDESK_TEST_DATABASE_URL"); given != "" {
		return server{given, func() error { return nil }}, nil
	}
	if _, err := cluster.FindBinaries(); err == nil {
		return startLocal(ctx)
	}
	return startContainer(ctx)
}

func startLocal(ctx context.Context) (server, error) {
	parent := "/dev/shm"
	if _, err := os.Stat(parent); err != nil {
		parent = os.TempDir()
	}
	address, stop, err := cluster.StartThrowaway(ctx, parent)
	if err != nil {
		return server{}, fmt.Errorf("test database: %w", err)
	}
	return server{address, stop}, nil
}

func startContainer(ctx context.Context) (server, error) {
	image := "postgres:15-alpine"
	if named := os.Getenv("DAMPERDESK_TEST_IMAGE"); named != "" {
		image = named
	}
	box, err := testcontainers.Run(ctx, image,
		testcontainers.WithEnv(map[string]string{"POSTGRES_PASSWORD": "test", "POSTGRES_DB": "postgres"}),
		testcontainers.WithExposedPorts("5432/tcp"),
		testcontainers.WithCmd("postgres", "-c", "fsync=off", "-c", "max_connections=200"),
		testcontainers.WithWaitStrategy(wait.ForSQL("5432/tcp", "pgx", containerURL)))
	if err != nil {
		return server{}, fmt.Errorf("no PostgreSQL for the tests: set DAMPERDESK_TEST_DATABASE_URL, install the postgresql package, or start Docker: %w", err)
	}
	host, err := box.Host(ctx)
	if err != nil {
		return server{}, err
	}
	port, err := box.MappedPort(ctx, "5432/tcp")
	if err != nil {
		return server{}, err
	}
	return server{containerURL(host, port), func() error { return testcontainers.TerminateContainer(box) }}, nil
}

func containerURL(host string, port network.Port) string {
	return fmt.Sprintf("postgres://postgres:test@%s/postgres?sslmode=disable", net.JoinHostPort(host, port.Port()))
}

// inDatabase is the server's address with another database.
func (s server) inDatabase(name string) (string, error) {
	u, err := url.Parse(s.url)
	if err != nil {
		return "", err
	}
	u.Path = "/" + name
	return u.String(), nil
}
