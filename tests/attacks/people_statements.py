"""What somebody tries who runs SQL of their own as the service's role.

`victim` and `attacker` are ids of two people, `email` the victim's address, `session` what stands
for the victim's session in its table.
"""

READS = {
    "the view": "SELECT * FROM access_user",
    "by condition": "SELECT name FROM access_user WHERE email = %(email)s AND id <> %(attacker)s",
    "by sorting": "SELECT max(password), max(email) FROM access_user WHERE id = %(victim)s",
    "as a whole row": "SELECT u::text, to_jsonb(u) FROM access_user u WHERE id = %(victim)s",
    "the table": "SELECT * FROM public.access_user",
    "the table first in the path": "SET LOCAL search_path = public; SELECT * FROM access_user",
    "one column": "SELECT email FROM public.access_user",
    "copied": "COPY public.access_user TO STDOUT",
    "locked": "LOCK TABLE public.access_user",
    "inherited": "CREATE TEMP TABLE t () INHERITS (public.access_user); SELECT * FROM t",
    "made like it": "CREATE TEMP TABLE t AS TABLE public.access_user; SELECT * FROM t",
    "statistics": "SELECT most_common_vals::text, histogram_bounds::text FROM pg_stats "
    "WHERE tablename IN ('access_user', 'account_emailaddress', 'django_session')",
    "statistics themselves": "SELECT * FROM pg_statistic",
    "a view over the view": "CREATE TEMP VIEW v AS SELECT * FROM access_user; SELECT * FROM v",
    "a telling condition": "CREATE FUNCTION pg_temp.tell(text) RETURNS boolean LANGUAGE plpgsql "
    "COST 0.0001 AS $$ BEGIN RAISE NOTICE '%%', $1; RETURN true; END $$; "
    "SELECT count(*) FROM access_user WHERE pg_temp.tell(password || email)",
    "a telling condition on addresses": "CREATE FUNCTION pg_temp.tell(text) RETURNS boolean "
    "LANGUAGE plpgsql COST 0.0001 AS $$ BEGIN RAISE NOTICE '%%', $1; RETURN true; END $$; "
    "SELECT count(*) FROM account_emailaddress WHERE pg_temp.tell(email)",
    "a telling error": "SELECT id FROM account_emailaddress WHERE email::integer > 0",
    "a telling error on people": "SELECT id FROM access_user WHERE email::integer > 0 "
    "AND id = %(victim)s",
    "addresses": "SELECT * FROM account_emailaddress",
    "confirmations": "SELECT * FROM account_emailconfirmation",
    "second factors": "SELECT * FROM mfa_authenticator",
    "tokens": "SELECT * FROM access_apitoken",
    "sessions": "SELECT * FROM django_session",
    "sessions one by one": "SELECT * FROM access.session('%%', '-infinity')",
    "a session by its start": "SELECT * FROM access.session(left(%(session)s, 39), '-infinity')",
    "a session under no key": "SELECT * FROM access.session(NULL, '-infinity')",
    "the key": "SELECT * FROM access.signing_key",
    "the key copied": "COPY access.signing_key TO STDOUT",
    "what is proven": "SELECT access.proven('viewer', %(victim)s)",
    "the account unsigned": "SELECT * FROM access.account(%(victim)s)",
    "the account with zeros": "SELECT * FROM access.account(repeat('0', 64) || ' ' || %(victim)s)",
    "the server's files": "SELECT pg_read_file('postgresql.conf')",
    "another program": "COPY (SELECT 1) TO PROGRAM 'cat'",
    "the owner": "SET LOCAL ROLE clubsetup_owner; SELECT * FROM public.access_user",
    "the administrator": "SET SESSION AUTHORIZATION postgres; SELECT * FROM public.access_user",
    "no row security": "SET LOCAL row_security = off; SELECT * FROM mfa_authenticator",
    "a table in front": "CREATE TEMP TABLE access_user (LIKE shown.access_user); "
    "INSERT INTO pg_temp.access_user (id, email) VALUES (%(attacker)s, %(email)s); "
    "SET LOCAL search_path = pg_temp, shown, public; "
    "SELECT access.signing_in(); SELECT * FROM account_emailaddress",
    "addresses in front": "CREATE TEMP TABLE account_emailaddress (id bigint, email text, "
    "user_id uuid, verified boolean); INSERT INTO pg_temp.account_emailaddress "
    "VALUES (1, 'x', %(victim)s, true); SET LOCAL search_path = pg_temp, public; "
    "SELECT access.confirmed_addresses(), access.signing_in(); "
    "SELECT * FROM shown.access_user WHERE id = %(victim)s",
}
# What would be met by whoever comes next on the same connection, as the viewer that they are.
LEFT_BEHIND = (
    "CREATE TEMP TABLE teams_team (id uuid, name text)",
    "SELECT 1 AS id INTO TEMP access_user",
    "CREATE TEMP VIEW teams_team AS SELECT access.viewer() AS id",
    "CREATE FUNCTION pg_temp.f() RETURNS int LANGUAGE sql AS 'SELECT 1'",
    "CREATE TEMP SEQUENCE s",
)
WRITES = {
    "their password": "UPDATE access_user SET password = 'x' WHERE id = %(victim)s",
    "their address": "UPDATE access_user SET email = 'x@example.org' WHERE id = %(victim)s",
    "their name": "UPDATE access_user SET name = 'x' WHERE id = %(victim)s",
    "everybody's": "UPDATE access_user SET name = name || 'x'",
    "their password in the table": "UPDATE public.access_user SET password = 'x'",
    "becoming them": "UPDATE access_user SET id = %(victim)s WHERE id = %(attacker)s",
    "removing them": "DELETE FROM access_user WHERE id = %(victim)s",
    "removing everybody": "TRUNCATE public.access_user CASCADE",
    "closing the account": "UPDATE access_user SET is_active = false WHERE id = %(victim)s",
    "taking their address": "UPDATE access_user SET email = %(email)s WHERE id = %(attacker)s",
    "giving them an address": "INSERT INTO account_emailaddress (user_id, email, verified, "
    "\"primary\") VALUES (%(victim)s, 'x@example.org', true, false)",
    "giving them mine": "UPDATE account_emailaddress SET user_id = %(victim)s",
    "taking their addresses": "UPDATE account_emailaddress SET user_id = %(attacker)s",
    "removing addresses": "DELETE FROM account_emailaddress",
    "giving them a second factor": "INSERT INTO mfa_authenticator (user_id, type, data, "
    "created_at) VALUES (%(victim)s, 'webauthn', '{}', now())",
    "taking a second factor": "UPDATE mfa_authenticator SET user_id = %(attacker)s",
    "removing second factors": "DELETE FROM mfa_authenticator",
    "a token for them": "INSERT INTO access_apitoken (id, created_at, user_id, name, digest, "
    "scopes, expires_at) VALUES (gen_random_uuid(), now(), %(victim)s, 'x', 'x', '{write}', "
    "'infinity')",
    "their tokens": "UPDATE access_apitoken SET expires_at = 'infinity', user_id = %(attacker)s",
    "all sessions": "DELETE FROM django_session",
    "sessions by pattern": "SELECT access.end_session('%%'), access.end_session(NULL)",
    "a session's content": "SELECT access.keep_session('%%', 'x', now())",
    "their sign-in": "SELECT access.note_sign_in(%(victim)s, now())",
    "the function": "CREATE OR REPLACE FUNCTION access.viewer() RETURNS uuid LANGUAGE sql "
    "AS 'SELECT NULL::uuid'",
    "the key": "UPDATE access.signing_key SET inner_pad = '', outer_pad = ''",
    "a key": "INSERT INTO access.signing_key VALUES (1, '', '')",
    "the view": "CREATE OR REPLACE VIEW shown.access_user AS SELECT * FROM public.access_user",
    "a trigger on the view": "CREATE TRIGGER t INSTEAD OF UPDATE ON shown.access_user "
    "FOR EACH ROW EXECUTE FUNCTION access.change_person()",
    "a trigger of theirs called": "SELECT access.change_person()",
    "a rule": "CREATE RULE r AS ON SELECT TO shown.access_user DO INSTEAD SELECT 1",
    "a policy": "CREATE POLICY p ON mfa_authenticator USING (true)",
    "row security": "ALTER TABLE mfa_authenticator DISABLE ROW LEVEL SECURITY",
    "a schema": "CREATE SCHEMA mine",
    "a table in public": "CREATE TABLE public.mine ()",
    "a function in public": "CREATE FUNCTION public.sha256(bytea) RETURNS bytea LANGUAGE sql "
    "AS 'SELECT $1'",
    "a function in shown": "CREATE FUNCTION shown.f() RETURNS int LANGUAGE sql AS 'SELECT 1'",
    "a grant": "GRANT SELECT ON public.access_user TO CURRENT_USER",
    "the owner's rights": "GRANT clubsetup_owner TO CURRENT_USER",
    "more rights": "ALTER ROLE CURRENT_USER BYPASSRLS",
}
