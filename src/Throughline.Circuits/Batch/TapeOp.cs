namespace Throughline.Circuits;

/// <summary>What one step of a tape does, on every lane alike. Each is exact to the IEEE 754 rounding of the operation it is named after, so that a lane's bits
/// do not depend on how wide the machine's vectors are.</summary>
internal enum TapeOp : byte
{
    Constant,

    /// <summary>A number that every lane has its own of: a slot, a temperature, a point to linearise at.</summary>
    Input,

    /// <summary>The operand as it is when the iteration that makes it has ended.</summary>
    Final,
    Add,
    Subtract,
    Multiply,
    Divide,
    Negate,
    Abs,

    /// <summary>a b + c, rounded once.</summary>
    MultiplyAdd,

    /// <summary>c − a b, rounded once.</summary>
    MultiplySubtract,

    /// <summary>All bits set where a &gt; b; false where either is NaN.</summary>
    Greater,

    /// <summary>All bits set where a ≥ b; false where either is NaN.</summary>
    GreaterOrEqual,
    And,
    Or,

    /// <summary>b where the mask a is set, otherwise c.</summary>
    Select,

    /// <summary>a · 2ⁿ with n in the lowest bits of b, where adding 1.5 · 2⁵² leaves it.</summary>
    Scale,

    /// <summary>The k of a = m · 2ᵏ with m from √½ to √2.</summary>
    Exponent,

    /// <summary>The m of a = m · 2ᵏ with m from √½ to √2.</summary>
    Mantissa,
}
