// SPDX-License-Identifier: GPL-3.0-or-later
// Hashes, signatures, passwords and tokens against the values printed in their standards and by reference programs.
#define _XOPEN_SOURCE 700
#include "harness/tap.h"
#include "seal/digest.h"
#include "seal/hash.h"
#include "seal/password.h"
#include "seal/signature.h"
#include "seal/token.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

TAP_CASE(sha_256_of_abc)
{
    sf_Hash *hash = NULL;
    char hex[SF_HASH_HEX];
    TAP_OK(sf_hash_create(&hash, NULL));
    sf_hash_add(hash, "a", 1);
    sf_hash_add(hash, "bc", 2);
    sf_hash_finish(&hash, hex);
    // FIPS 180-4 example: SHA-256 of "abc"
    TAP_TEXT(hex, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
}

/// Python's hashlib (the reference code of BLAKE2, not libsodium) says the same for random lengths and keys.
TAP_CASE(blake2b_as_another_program_has_it)
{
    char hex[SF_DIGEST_HEX], salt[SF_SALT_HEX], command[1024], got[80] = "";
    sf_digest("abc", 3, NULL, 0, hex);
    // b2sum -l 256 of GNU coreutils for "abc"
    TAP_TEXT(hex, "bddd813c634239723171ef3fee98579b94964e3bb1cb3e427262c8c068d52319");
    sf_token_begin();
    for (int n = 0; n < 5; n++) {
        sf_token_salt(salt);
        TAP_TRUE(sf_digest_salted("0123456789", (size_t)(2 * n), salt, hex));
        snprintf(command, sizeof command,
                 "python3 -c \"import hashlib; print(hashlib.blake2b(b'0123456789'[:%d], digest_size=32, "
                 "key=bytes.fromhex('%s')).hexdigest())\"",
                 2 * n, salt);
        FILE *pipe = popen(command, "r");
        TAP_TRUE(pipe && fgets(got, sizeof got, pipe));
        pclose(pipe);
        got[strcspn(got, "\n")] = 0;
        TAP_TEXT(hex, got);
    }
    TAP_TRUE(!sf_digest_salted("x", 1, "short", hex) && !sf_digest_salted("x", 1, NULL, hex));
}

/// RFC 8032, section 7.1, TEST 1 to TEST 3.
TAP_CASE(ed25519_as_printed_in_rfc_8032)
{
    static const struct {
        const char *seed, *public_key, *message, *signature;
        size_t size;
    } tests[] = {
        { "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
          "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a", "",
          "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595b"
          "be24"
          "655141438e7a100b",
          0 },
        { "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
          "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c", "\x72",
          "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb430"
          "2aee"
          "b00d291612bb0c00",
          1 },
        { "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
          "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025", "\xaf\x82",
          "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc6594a7c15e9716e"
          "d28d"
          "c027beceea1ec40a",
          2 },
    };
    for (size_t i = 0; i < 3; i++) {
        sf_SigningKey key;
        char signature[SF_SIGNATURE_HEX];
        TAP_OK(sf_signing_key_from_seed(&key, tests[i].seed, NULL));
        TAP_TEXT(key.public_key, tests[i].public_key);
        sf_signature_make(&key, tests[i].message, tests[i].size, signature);
        TAP_TEXT(signature, tests[i].signature);
        TAP_TRUE(sf_signature_holds(key.public_key, tests[i].message, tests[i].size, signature));
        TAP_TRUE(!sf_signature_holds(key.public_key, "other", 5, signature));
        char capital[SF_SIGNATURE_HEX];
        for (size_t k = 0; k < sizeof capital; k++)
            capital[k] = (char)(signature[k] >= 'a' ? signature[k] - 32 : signature[k]);
        TAP_TRUE(!sf_signature_holds(key.public_key, tests[i].message, tests[i].size, capital), "one value, one text");
        signature[7] = signature[7] == '0' ? '1' : '0';
        TAP_TRUE(!sf_signature_holds(key.public_key, tests[i].message, tests[i].size, signature));
        TAP_TRUE(!sf_signature_holds("no key", "", 0, signature) && !sf_signature_holds(key.public_key, "", 0, NULL));
    }
}

TAP_CASE(a_key_file_is_its_owners_alone)
{
    char folder[] = "/tmp/standfast-key-XXXXXX", path[64];
    struct stat info;
    sf_Error err = { 0 };
    sf_SigningKey key, again;
    sf_token_begin();
    TAP_TRUE(mkdtemp(folder) != NULL);
    snprintf(path, sizeof path, "%s/signing.key", folder);
    TAP_STATUS(sf_signing_key_read(&again, path, &err), SF_E_MISSING);
    sf_signing_key_make(&key);
    TAP_OK(sf_signing_key_write(&key, path, &err));
    TAP_TRUE(stat(path, &info) == 0 && (info.st_mode & 0777) == 0600);
    TAP_STATUS(sf_signing_key_write(&key, path, &err), SF_E_STORE); // never over another key
    TAP_OK(sf_signing_key_read(&again, path, &err));
    TAP_TEXT(again.public_key, key.public_key);
    chmod(path, 0640);
    TAP_STATUS(sf_signing_key_read(&again, path, &err), SF_E_STORE);
    chmod(path, 0600);
    TAP_TRUE(truncate(path, 40) == 0);
    TAP_STATUS(sf_signing_key_read(&again, path, &err), SF_E_PARSE);
    unlink(path);
    rmdir(folder);
    sf_signing_key_forget(&key);
    for (size_t i = 0; i < sizeof key.seed; i++)
        TAP_TRUE(key.seed[i] == 0);
}

TAP_CASE(passwords)
{
    char hash[SF_PASSWORD_HASH], again[SF_PASSWORD_HASH], *longest = calloc(SF_PASSWORD_MOST + 2, 1);
    sf_token_begin();
    TAP_OK(sf_password_hash("correct horse", hash, NULL));
    TAP_TRUE(strncmp(hash, "$argon2id$v=19$m=65536,t=2,p=1$", 31) == 0, "%s", hash);
    TAP_OK(sf_password_hash("correct horse", again, NULL));
    TAP_TRUE(strcmp(hash, again) != 0, "each hash has its own salt");
    TAP_TRUE(sf_password_matches("correct horse", hash));
    TAP_TRUE(!sf_password_matches("Correct horse", hash) && !sf_password_matches("", hash));
    TAP_TRUE(!sf_password_matches("correct horse", NULL) && !sf_password_matches("correct horse", "no hash"));
    // The reference implementation's own test of Argon2id: "password", "somesalt", 2 passes, 64 MiB, 1 lane
    TAP_TRUE(sf_password_matches(
        "password", "$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc"));
    TAP_STATUS(sf_password_hash("", hash, NULL), SF_E_INPUT);
    memset(longest, 'x', SF_PASSWORD_MOST + 1);
    TAP_STATUS(sf_password_hash(longest, hash, NULL), SF_E_INPUT);
    TAP_TRUE(!sf_password_matches(longest, hash));
    free(longest);
}

TAP_CASE(tokens)
{
    char one[SF_TOKEN_HEX], two[SF_TOKEN_HEX], digest[SF_DIGEST_HEX], name[SF_PSEUDONYM_TEXT];
    sf_token_begin();
    sf_token_make(one);
    sf_token_make(two);
    TAP_TRUE(strlen(one) == 64 && strcmp(one, two) != 0 && strspn(one, "0123456789abcdef") == 64);
    sf_token_digest(one, digest);
    TAP_TRUE(strcmp(one, digest) != 0 && strlen(digest) == 64);
    TAP_TRUE(sf_token_same(one, one) && !sf_token_same(one, two) && !sf_token_same("", one) && !sf_token_same(one, ""));
    TAP_TRUE(sf_token_same("", "") && !sf_token_same("abcabc", "abc"));
    int seen[128] = { 0 };
    for (int i = 0; i < 500; i++) {
        sf_token_pseudonym(name);
        for (int k = 2; k < SF_PSEUDONYM_TEXT - 1; k++)
            seen[(unsigned char)name[k] % 128]++;
    }
    TAP_TRUE(!seen['I'] && !seen['L'] && !seen['O'] && !seen['U'] && seen['0'] && seen['Z'],
             "signs that are not mistaken");
}

TAP_MAIN(TAP_RUN(sha_256_of_abc), TAP_RUN(blake2b_as_another_program_has_it), TAP_RUN(ed25519_as_printed_in_rfc_8032),
         TAP_RUN(a_key_file_is_its_owners_alone), TAP_RUN(passwords), TAP_RUN(tokens))
