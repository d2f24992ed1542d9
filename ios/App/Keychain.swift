// The device's keys at rest: in the system's keychain, on this device only, in no backup.
//
// The rule: what can't be read any more counts as lost and is told; it never ends the app.
import ChalkfaceKit
import Foundation
import Security

struct Keychain: KeyKeeper {
    struct Refused: LocalizedError {
        let status: OSStatus
        var errorDescription: String? { SecCopyErrorMessageString(status, nil).map { $0 as String } }
    }

    func keep(_ keys: String) throws { try put("keys", keys) }

    func keys() -> String? { get("keys") }

    func keepWords(_ words: String) throws { try put("words", words) }

    func words() -> String? { get("words") }

    func forgetWords() { SecItemDelete(query("words")) }

    private func query(_ name: String, _ more: [String: Any] = [:]) -> CFDictionary {
        let own: [String: Any] = [
            kSecClass as String: kSecClassGenericPassword, kSecAttrService as String: "chalkface",
            kSecAttrAccount as String: name,
        ]
        return NSDictionary(dictionary: own.merging(more) { $1 }) as CFDictionary
    }

    private func put(_ name: String, _ text: String) throws {
        SecItemDelete(query(name))
        let status = SecItemAdd(
            query(
                name,
                [
                    kSecValueData as String: Data(text.utf8),
                    kSecAttrAccessible as String: kSecAttrAccessibleAfterFirstUnlockThisDeviceOnly,
                ]), nil)
        if status != errSecSuccess { throw Refused(status: status) }
    }

    private func get(_ name: String) -> String? {
        var found: CFTypeRef?
        let asked = query(name, [kSecReturnData as String: true, kSecMatchLimit as String: kSecMatchLimitOne])
        guard SecItemCopyMatching(asked, &found) == errSecSuccess, let bytes = found as? Data else { return nil }
        return String(decoding: bytes, as: UTF8.self)
    }
}
