// Not Apple's: for the type check only (see SwiftUI.swift).
import Foundation

public typealias OSStatus = Int32
public typealias CFString = String
public typealias CFDictionary = NSDictionary
public typealias CFTypeRef = AnyObject
public let errSecSuccess: OSStatus = 0
public let kSecClass = "", kSecClassGenericPassword = "", kSecAttrService = "", kSecAttrAccount = "", kSecValueData = ""
public let kSecAttrAccessible = "", kSecAttrAccessibleAfterFirstUnlockThisDeviceOnly = ""
public let kSecReturnData = "", kSecMatchLimit = "", kSecMatchLimitOne = ""
@discardableResult public func SecItemDelete(_ query: CFDictionary) -> OSStatus { 0 }
public func SecItemAdd(_ item: CFDictionary, _ result: UnsafeMutablePointer<CFTypeRef?>?) -> OSStatus { 0 }
public func SecItemCopyMatching(_ query: CFDictionary, _ result: UnsafeMutablePointer<CFTypeRef?>?) -> OSStatus { 0 }
public func SecCopyErrorMessageString(_ status: OSStatus, _ reserved: UnsafeMutableRawPointer?) -> CFString? { nil }
