#include "mapstore/parcel/signature.h"

#include <filesystem>

#include <gtest/gtest.h>
#include <sys/stat.h>

#include "mapstore/parcel/key_ring.h"
#include "tests/mapstore/shelf/shelf_test_support.h"

namespace islebook {
namespace {

using shelf_test::TemporaryFolder;

// RFC 8032, section 7.1, tests 1 to 3: secret key (seed) and public key.
TEST(Signature, KeysAreThoseOfTheStandard) {
  const std::pair<const char*, const char*> rows[] = {
      {"9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60", "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a"},
      {"4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb", "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c"},
      {"c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7", "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025"}};
  for (const auto& [seed, public_key] : rows) {
    const Result<SigningKey> key = SigningKeyFromSeed(seed, "Tarnside Engine Works");
    ASSERT_TRUE(key);
    EXPECT_EQ(key->public_key, public_key);
    EXPECT_TRUE(IsPublicKey(public_key));
  }
}

TEST(Signature, TheSameKeyAndFilesGiveTheSameText) {
  const SigningKey key = *SigningKeyFromSeed(std::string(64, '7'), "Tarnside Engine Works");
  const std::map<std::string, BagFile> tags = {{"bagit.txt", {std::string(64, 'a'), 1}}, {"manifest-sha256.txt", {std::string(64, 'b'), 2}}};
  EXPECT_EQ(SignTags(key, tags), SignTags(key, tags));
  const Signature good = CheckSignature(SignTags(key, tags), tags);
  EXPECT_EQ(good.state, Signature::State::kGood);
  EXPECT_EQ(good.public_key, key.public_key);
  EXPECT_EQ(good.signer, "Tarnside Engine Works");
}

TEST(Signature, EveryChangeIsNoticed) {
  const SigningKey key = MakeSigningKey("Tarnside Engine Works");
  const std::map<std::string, BagFile> tags = {{"bagit.txt", {std::string(64, 'a'), 1}}, {"manifest-sha256.txt", {std::string(64, 'b'), 2}}};
  const std::string text = SignTags(key, tags);
  for (std::size_t at = 0; at + 1 < text.size(); ++at) {
    std::string changed = text;
    changed[at] = changed[at] == '0' ? '1' : '0';
    EXPECT_EQ(CheckSignature(changed, tags).state, Signature::State::kWrong) << at;
  }
  for (std::size_t length = 0; length + 1 < text.size(); ++length)
    EXPECT_EQ(CheckSignature(text.substr(0, length), tags).state, Signature::State::kWrong);
}

TEST(KeyRing, MakesKeepsAndNeverReplacesItsKey) {
  TemporaryFolder folder;
  const std::filesystem::path keys = folder.Path() / "config" / "keys";
  Result<KeyRing> ring = KeyRing::Open(keys);
  ASSERT_TRUE(ring);
  EXPECT_FALSE(ring->Own());
  const Result<SigningKey> made = ring->MakeOwn("Tarnside Engine Works");
  ASSERT_TRUE(made) << made.error().message;
  struct stat status;
  ASSERT_EQ(stat((keys / "shop.key").c_str(), &status), 0);
  EXPECT_EQ(status.st_mode & 0777, 0600u);
  EXPECT_FALSE(ring->MakeOwn("Another"));
  const Result<KeyRing> again = KeyRing::Open(keys);
  ASSERT_TRUE(again);
  EXPECT_EQ(again->Own()->seed, made->seed);
  EXPECT_EQ(again->Own()->name, "Tarnside Engine Works");
  EXPECT_EQ(again->NameOf(made->public_key), "Tarnside Engine Works");
  EXPECT_FALSE(again->NameOf(std::string(64, '0')));
}

TEST(KeyRing, ASecretThatOthersMayReadIsRefused) {
  TemporaryFolder folder;
  ASSERT_TRUE(KeyRing::Open(folder.Path())->MakeOwn("Tarnside Engine Works"));
  std::filesystem::permissions(folder.Path() / "shop.key", std::filesystem::perms::group_read, std::filesystem::perm_options::add);
  const Result<KeyRing> ring = KeyRing::Open(folder.Path());
  ASSERT_FALSE(ring);
  EXPECT_NE(ring.error().message.find("chmod 600"), std::string::npos);
}

TEST(KeyRing, TrustsAndForgets) {
  TemporaryFolder folder;
  KeyRing ring = *KeyRing::Open(folder.Path());
  const SigningKey other = MakeSigningKey("Fellside Rotors");
  const Result<TrustedKey> sent = ParsePublicKey(PublicKeyLine({other.public_key, other.name}));
  ASSERT_TRUE(sent) << sent.error().message;
  EXPECT_EQ(sent->name, "Fellside Rotors");
  EXPECT_TRUE(*ring.Trust(*sent));
  EXPECT_FALSE(*ring.Trust(*sent));
  EXPECT_TRUE(*ring.Trust({other.public_key, "Fellside"}));  // under another name: the later word
  ring = *KeyRing::Open(folder.Path());
  ASSERT_EQ(ring.Trusted().size(), 1u);
  EXPECT_EQ(ring.NameOf(other.public_key), "Fellside");
  EXPECT_TRUE(*ring.Forget(other.public_key));
  EXPECT_FALSE(*ring.Forget(other.public_key));
  EXPECT_TRUE(KeyRing::Open(folder.Path())->Trusted().empty());
}

TEST(KeyRing, KeysAreReadAsPeopleHandThemOn) {
  const SigningKey key = MakeSigningKey("x");
  EXPECT_EQ(ParsePublicKey(KeyInGroups(key.public_key))->public_key, key.public_key);
  std::string upper = key.public_key;
  for (char& c : upper) c = static_cast<char>(toupper(c));
  EXPECT_EQ(ParsePublicKey("  " + upper + "\n")->public_key, key.public_key);
  for (const char* text : {"", "hello", "islebook-key 1 ed25519 abc name", "0000000000000000000000000000000000000000000000000000000000000000"})
    EXPECT_FALSE(ParsePublicKey(text)) << text;
}

TEST(KeyRing, DamagedFilesAreNamed) {
  TemporaryFolder folder;
  shelf_test::WriteFile(folder.Path() / "trusted.keys", "# a remark\n\nnonsense\n");
  const Result<KeyRing> ring = KeyRing::Open(folder.Path());
  ASSERT_FALSE(ring);
  EXPECT_NE(ring.error().message.find("line 3"), std::string::npos);
}

}  // namespace
}  // namespace islebook
