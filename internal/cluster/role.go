package cluster

import (
	"context"
	"fmt"
	"net/url"
	"strings"

	"github.com/jackc/pgx/v5"
)

const (
	adminRole = "damperdesk_admin" // superuser, for this package alone
	ownerRole = "damperdesk_owner" // owns the database and migrates it
	serveRole = "damperdesk_serve" // no login; the migrations grant to it
	appRole   = "damperdesk_app"   // login of the running program
	database  = "damperdesk"
)

// socketURL has the form pgx and libpq read: the host is the socket's folder.
func socketURL(role, database, folder, port string) string {
	u := url.URL{
		Scheme:   "postgres",
		User:     url.User(role),
		Path:     "/" + database,
		RawQuery: "host=" + strings.ReplaceAll(url.QueryEscape(folder), "+", "%20") + "&port=" + port, // they take + as it is
	}
	return u.String()
}

// rolesSQL may run any number of times. The serving login takes the serving
// role by itself at every connection, so that a session by hand has the same
// rights as the program's.
const rolesSQL = `
do $$
declare name text;
begin
  foreach name in array array['damperdesk_owner', 'damperdesk_serve', 'damperdesk_app'] loop
    if not exists (select from pg_roles where rolname = name) then
      execute format('create role %I', name);
    end if;
  end loop;
end $$;
alter role damperdesk_owner login nosuperuser nocreatedb nocreaterole;
alter role damperdesk_serve nologin nosuperuser nocreatedb nocreaterole;
alter role damperdesk_app login nosuperuser nocreatedb nocreaterole;
set client_min_messages = warning;
grant damperdesk_serve to damperdesk_owner with admin option;
grant damperdesk_serve to damperdesk_app;
alter role damperdesk_app set role = 'damperdesk_serve'`

// ensureRoles makes the roles and the database, or finds them.
func ensureRoles(ctx context.Context, adminURL string) error {
	conn, err := pgx.Connect(ctx, adminURL)
	if err != nil {
		return err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	if _, err := conn.Exec(ctx, rolesSQL, pgx.QueryExecModeSimpleProtocol); err != nil {
		return fmt.Errorf("make the roles: %w", err)
	}
	var there bool
	err = conn.QueryRow(ctx, "select exists (select from pg_database where datname = $1)", database).Scan(&there)
	if err != nil || there {
		return err
	}
	if _, err := conn.Exec(ctx, "create database "+database+" owner "+ownerRole); err != nil {
		return fmt.Errorf("make the database: %w", err)
	}
	return nil
}
