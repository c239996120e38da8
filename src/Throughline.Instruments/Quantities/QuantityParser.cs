using System.Globalization;

namespace Throughline.Instruments;

/// <summary>
/// Reads quantities as on a drawing. By hand, since it runs for every number of every file; the texts it takes are exactly those of
/// <see cref="QuantityForm.Pattern"/>, which a test compares.
/// </summary>
internal ref struct QuantityParser
{
    private readonly ReadOnlySpan<char> _text;
    private readonly QuantityForm _form;
    private int _at;
    private bool _hasValue;
    private bool _toleranceSaid;
    private bool _driftSaid;
    private bool _signedDriftSaid;
    private double _relativeBelow;
    private double _relativeAbove;
    private double _absoluteBelow;
    private double _absoluteAbove;
    private bool _relative;
    private double _relativeDrift;
    private double _relativeSignedDrift;
    private double _absoluteDrift;
    private double _absoluteSignedDrift;
    private double _minimum;
    private double _maximum;
    private bool _valueIsBound;
    private QuantityProblem? _problem;

    private QuantityParser(ReadOnlySpan<char> text, QuantityForm form)
    {
        _text = text;
        _form = form;
    }

    /// <summary>Reads a text; null when it is not of the form.</summary>
    public static ParsedQuantity? Parse(ReadOnlySpan<char> text, QuantityForm form) => new QuantityParser(text, form).Run();

    /// <summary>A number that YAML itself has read, standing without a unit; null when the form asks for a unit, a range or a tolerance alone.</summary>
    public static ParsedQuantity? FromNumber(double number, QuantityForm form)
    {
        if (!form.Bare || form.Extent == Extent.Range || form.Alone == ToleranceAlone.Required || (number < 0 && !form.Signed))
        {
            return null;
        }

        ParsedQuantity parsed = new() { Dimension = form.Units.Dimension, Value = number, Low = number, High = number, IsBare = true };
        QuantityRules.Judge(parsed, form, false);
        return parsed;
    }

    private ParsedQuantity? Run()
    {
        ParsedQuantity parsed = new() { Dimension = _form.Units.Dimension };
        SkipBlanks();
        if (_form.Prefix is not null)
        {
            int start = _at;
            if (!TakeWords(_form.Prefix) || !SkipSomeBlanks())
            {
                _at = start;
            }
        }

        int head = _at;
        if (!(_form.Extent != Extent.Value && TakeRange(parsed)))
        {
            _at = head;
            if (_form.Extent == Extent.Range || !TakeHead(parsed))
            {
                return null;
            }

            while (TakeTail(parsed))
            {
            }

            Settle(parsed);
        }

        if (_form.Suffix is not null)
        {
            int start = _at;
            if (SkipSomeBlanks() && TakeWords(_form.Suffix))
            {
                parsed.HasSuffix = true;
            }
            else
            {
                _at = start;
            }
        }

        SkipBlanks();
        if (_at != _text.Length)
        {
            return null;
        }

        parsed.Problem = _problem;
        QuantityRules.Judge(parsed, _form, _relative);
        return parsed;
    }

    private bool TakeRange(ParsedQuantity parsed)
    {
        if (!TakeSignedNumber(out double low))
        {
            return false;
        }

        int afterLow = _at;
        SkipBlanks();
        Unit lowUnit = default;
        bool lowHasUnit = TakeUnit(out lowUnit);
        if (!lowHasUnit)
        {
            _at = afterLow;
        }

        SkipBlanks();
        if (!TakeDots())
        {
            return false;
        }

        SkipBlanks();
        if (!TakeSignedNumber(out double high))
        {
            return false;
        }

        int afterHigh = _at;
        SkipBlanks();
        bool highHasUnit = TakeUnit(out Unit highUnit);
        if (!highHasUnit)
        {
            if (!_form.Bare && _form.Units.Families.Length > 0)
            {
                return false;
            }

            _at = afterHigh;
            highUnit = new Unit(_form.Units.Dimension, 1);
        }

        // 5 .. 45 °C: the unit at the end is meant for both.
        if (!lowHasUnit)
        {
            lowUnit = highUnit;
        }

        if (lowUnit.Dimension != highUnit.Dimension || (lowHasUnit && !highHasUnit))
        {
            _problem ??= new QuantityProblem(Codes.OutOfRange, "The two ends of the range are of different kinds.", "both ends in units of one kind");
        }

        parsed.IsRange = true;
        parsed.IsBare = !lowHasUnit && !highHasUnit;
        parsed.Dimension = highUnit.Dimension;
        parsed.Low = lowUnit.ToOwn(low);
        parsed.High = highUnit.ToOwn(high);
        parsed.Value = parsed.Low + ((parsed.High - parsed.Low) / 2);
        return true;
    }

    private bool TakeHead(ParsedQuantity parsed)
    {
        int start = _at;
        if (_form.Alone != ToleranceAlone.No && TakePlusMinus())
        {
            SkipBlanks();
            if (!TakeNumber(out double tolerance) || !TakeUnitOrBare(out Unit unit, out bool bare))
            {
                return false;
            }

            parsed.Dimension = unit.Dimension;
            parsed.IsBare = bare;
            parsed.IsAlone = true;
            _toleranceSaid = true;
            _absoluteBelow = _absoluteAbove = unit.ToOwn(tolerance);
            _hasValue = true;
            return true;
        }

        if (_form.Alone == ToleranceAlone.Required)
        {
            return false;
        }

        _at = start;
        if (TakeSignedNumber(out double number))
        {
            int afterNumber = _at;
            if (TakeUnitOrBare(out Unit unit, out bool bare))
            {
                parsed.Dimension = unit.Dimension;
                parsed.IsBare = bare;
                parsed.Value = unit.ToOwn(number);
                _hasValue = true;
                return true;
            }

            // 7.00 ±0.40 pH: one unit for both.
            _at = afterNumber;
            SkipBlanks();
            if (_form.Tolerance && _form.Units.Families.Length > 0 && TakePlusMinus())
            {
                SkipBlanks();
                if (TakeNumber(out double tolerance))
                {
                    SkipBlanks();
                    if (TakeUnit(out unit))
                    {
                        parsed.Dimension = unit.Dimension;
                        parsed.Value = unit.ToOwn(number);
                        _absoluteBelow = _absoluteAbove = unit.ToOwn(tolerance);
                        _toleranceSaid = true;
                        _hasValue = true;
                        return true;
                    }
                }
            }
        }

        _at = start;
        if (RkmCode.TryRead(_text[_at..], _form.Rkm, out int length, out double value, out double below, out double above))
        {
            _at += length;
            parsed.Value = value;
            _hasValue = true;
            if (below > 0)
            {
                _toleranceSaid = true;
                _relative = true;
                _relativeBelow = below;
                _relativeAbove = above;
            }

            return true;
        }

        return false;
    }

    private bool TakeTail(ParsedQuantity parsed)
    {
        int start = _at;
        if ((_form.Tolerance || _form.Drift) && TakeToleranceOrDrift(parsed))
        {
            return true;
        }

        _at = start;
        if (_form.Bounds && TakeBound(parsed))
        {
            return true;
        }

        _at = start;
        return false;
    }

    private bool TakeToleranceOrDrift(ParsedQuantity parsed)
    {
        SkipBlanks();
        if (Peek(','))
        {
            _at++;
            SkipBlanks();
        }

        if (TakePlusMinus())
        {
            SkipBlanks();
            if (!TakeNumber(out double number))
            {
                return false;
            }

            int afterNumber = _at;
            SkipBlanks();
            if (_form.Drift && TakeDriftUnit(out Unit driftUnit, out bool relativeDrift))
            {
                SayDrift(number, driftUnit, relativeDrift, parsed.Dimension, false);
                return true;
            }

            if (!_form.Tolerance)
            {
                return false;
            }

            if (!TakeToleranceUnit(out Unit unit, out bool relative))
            {
                if (!_form.Bare)
                {
                    return false;
                }

                _at = afterNumber;
                unit = new Unit(_form.Units.Dimension, 1);
            }

            SayTolerance(number, number, unit, relative, parsed.Dimension);
            return true;
        }

        if (!TakeSign(out bool negative))
        {
            return false;
        }

        SkipBlanks();
        if (!TakeNumber(out double first))
        {
            return false;
        }

        int afterFirst = _at;
        SkipBlanks();
        if (_form.Drift && TakeDriftUnit(out Unit signedUnit, out bool relativeSigned))
        {
            SayDrift(negative ? -first : first, signedUnit, relativeSigned, parsed.Dimension, true);
            return true;
        }

        bool firstHasUnit = TakeToleranceUnit(out Unit firstUnit, out bool firstRelative);
        if (!firstHasUnit)
        {
            _at = afterFirst;
        }

        SkipBlanks();
        if (!_form.Tolerance || !TakeSign(out bool secondNegative) || secondNegative == negative)
        {
            return false;
        }

        SkipBlanks();
        if (!TakeNumber(out double second))
        {
            return false;
        }

        SkipBlanks();
        if (!TakeToleranceUnit(out Unit secondUnit, out bool secondRelative))
        {
            return false;
        }

        if (!firstHasUnit)
        {
            firstUnit = secondUnit;
            firstRelative = secondRelative;
        }

        if (firstRelative != secondRelative)
        {
            _problem ??= new QuantityProblem(Codes.ToleranceOutOfRange, "One side of the tolerance is relative and the other is not.", "both sides in per cent, or both in the value's unit");
        }

        double below = negative ? firstUnit.ToOwn(first) : secondUnit.ToOwn(second);
        double above = negative ? secondUnit.ToOwn(second) : firstUnit.ToOwn(first);
        SayTolerance(below, above, new Unit(secondUnit.Dimension, 1), firstRelative, parsed.Dimension);
        return true;
    }

    private void SayTolerance(double below, double above, Unit unit, bool relative, Dimension dimension)
    {
        if (_toleranceSaid)
        {
            _problem ??= new QuantityProblem(Codes.SaidTwice, "The tolerance is said twice.", "one tolerance");
        }

        _toleranceSaid = true;
        if (relative)
        {
            _relative = true;
            _relativeBelow = unit.ToOwn(below);
            _relativeAbove = unit.ToOwn(above);
            return;
        }

        CheckKind(unit, dimension, "tolerance");
        _absoluteBelow = unit.ToOwn(below);
        _absoluteAbove = unit.ToOwn(above);
    }

    private void SayDrift(double number, Unit unit, bool relative, Dimension dimension, bool signed)
    {
        // A known change and a bound on what it leaves open may stand beside each other.
        if (signed ? _signedDriftSaid : _driftSaid)
        {
            _problem ??= new QuantityProblem(Codes.SaidTwice, "The change per kelvin is said twice.", "one change per kelvin");
        }

        (signed ? ref _signedDriftSaid : ref _driftSaid) = true;
        if (relative)
        {
            (signed ? ref _relativeSignedDrift : ref _relativeDrift) = unit.ToOwn(number);
            return;
        }

        CheckKind(unit, dimension, "change per kelvin");
        (signed ? ref _absoluteSignedDrift : ref _absoluteDrift) = unit.ToOwn(number);
    }

    private void CheckKind(Unit unit, Dimension dimension, string what)
    {
        bool fits = unit.Dimension == dimension || (dimension == Dimension.Temperature && unit.Dimension == Dimension.TemperatureDifference)
            || (dimension == Dimension.TemperatureDifference && unit.Dimension == Dimension.Temperature);
        if (!fits)
        {
            _problem ??= new QuantityProblem(
                Codes.WrongKind, $"The {what} is {UnitSets.Noun(unit.Dimension)}, the value is {UnitSets.Noun(dimension)}.", $"a {what} of the same kind as the value");
        }
    }

    private bool TakeBound(ParsedQuantity parsed)
    {
        int start = _at;
        SkipBlanks();
        bool separated = _at > start;
        if (Peek(','))
        {
            _at++;
            separated = true;
            SkipBlanks();
        }

        if (!separated)
        {
            return false;
        }

        int wordStart = _at;
        double value = parsed.Value;
        bool another = false;
        if (!TakeQualifier(out char qualifier))
        {
            _at = wordStart;
            if (!TakeNumber(out double number) || !TakeUnitOrBare(out Unit unit, out _) || !SkipSomeBlanks() || !TakeQualifier(out qualifier))
            {
                return false;
            }

            another = true;
            CheckKind(unit, parsed.Dimension, "limit");
            value = unit.ToOwn(number);
        }

        bool again = qualifier switch { 't' => parsed.HasTypical, 'i' => parsed.HasMinimum, _ => parsed.HasMaximum };
        if (again)
        {
            string word = qualifier switch { 't' => "typical value", 'i' => "minimum", _ => "maximum" };
            _problem ??= new QuantityProblem(Codes.SaidTwice, $"The {word} is said twice.", $"one {word}");
        }

        switch (qualifier)
        {
            case 't':
                parsed.HasTypical = true;
                parsed.Value = value;
                break;
            case 'i':
                parsed.HasMinimum = true;
                _minimum = value;
                break;
            default:
                parsed.HasMaximum = true;
                _maximum = value;
                break;
        }

        // "400 pA max" alone: the value is the limit. "65 pA, 400 pA max": the first is the typical value.
        _valueIsBound |= !another && qualifier != 't';
        return true;
    }

    private readonly void Settle(ParsedQuantity parsed)
    {
        if (!_hasValue)
        {
            return;
        }

        double magnitude = Math.Abs(parsed.Value);
        parsed.Low = parsed.Value - _absoluteBelow - (_relativeBelow * magnitude);
        parsed.High = parsed.Value + _absoluteAbove + (_relativeAbove * magnitude);
        parsed.Drift = _absoluteDrift + (_relativeDrift * magnitude);
        parsed.SignedDrift = _absoluteSignedDrift + (_relativeSignedDrift * magnitude);
        if (parsed.HasMinimum || parsed.HasMaximum)
        {
            bool valueKnown = parsed.HasTypical || !_valueIsBound;
            parsed.Low = parsed.HasMinimum ? _minimum : valueKnown ? parsed.Value : double.NegativeInfinity;
            parsed.High = parsed.HasMaximum ? _maximum : valueKnown ? parsed.Value : double.PositiveInfinity;
        }
    }

    private bool TakeQualifier(out char qualifier)
    {
        ReadOnlySpan<char> rest = _text[_at..];
        qualifier = rest.StartsWith("typ", StringComparison.Ordinal) ? 't'
            : rest.StartsWith("min", StringComparison.Ordinal) ? 'i'
            : rest.StartsWith("max", StringComparison.Ordinal) ? 'a' : '\0';
        if (qualifier == '\0')
        {
            return false;
        }

        _at += 3;
        return true;
    }

    private bool TakeUnitOrBare(out Unit unit, out bool bare)
    {
        bare = false;
        int start = _at;
        SkipBlanks();
        if (TakeUnit(out unit))
        {
            return true;
        }

        _at = start;
        bare = true;
        unit = new Unit(_form.Units.Dimension, 1);
        return _form.Bare || _form.Units.Families.Length == 0;
    }

    private bool TakeUnit(out Unit unit)
    {
        UnitSet units = _form.Units;
        ReadOnlySpan<char> token = Token(_at);
        if (units.TryGet(token, out unit))
        {
            _at += token.Length;
            return token.Length > 0;
        }

        return TakeTwoWordUnit(units, token, out unit);
    }

    private bool TakeTwoWordUnit(UnitSet units, ReadOnlySpan<char> first, out Unit unit)
    {
        unit = default;
        int second = _at + first.Length;
        while (second < _text.Length && PatternText.IsBlank(_text[second]))
        {
            second++;
        }

        ReadOnlySpan<char> next = Token(second);
        if (first.Length == 0 || next.Length == 0 || first.Length + next.Length > 20 || second == _at + first.Length)
        {
            return false;
        }

        Span<char> joined = stackalloc char[24];
        first.CopyTo(joined);
        joined[first.Length] = ' ';
        next.CopyTo(joined[(first.Length + 1)..]);
        if (!units.TryGet(joined[..(first.Length + 1 + next.Length)], out unit))
        {
            return false;
        }

        _at = second + next.Length;
        return true;
    }

    private bool TakeToleranceUnit(out Unit unit, out bool relative)
    {
        ReadOnlySpan<char> token = Token(_at);
        if (TryAbsoluteOrShare(token, out unit, out relative))
        {
            _at += token.Length;
            return true;
        }

        return TakeTwoWordUnit(_form.Units, token, out unit);
    }

    private bool TakeDriftUnit(out Unit unit, out bool relative)
    {
        unit = default;
        relative = false;
        ReadOnlySpan<char> token = Token(_at);
        int per = token.LastIndexOf('/');
        if (per <= 0 || token[(per + 1)..] is not ("K" or "°C" or "degC") || !TryAbsoluteOrShare(token[..per], out unit, out relative))
        {
            return false;
        }

        _at += token.Length;
        return true;
    }

    private readonly bool TryAbsoluteOrShare(ReadOnlySpan<char> token, out Unit unit, out bool relative)
    {
        relative = false;
        if (token.Length == 0)
        {
            unit = default;
            return false;
        }

        if (_form.Units.TryGet(token, out unit))
        {
            return true;
        }

        if (token is "%" or "ppm")
        {
            unit = new Unit(Dimension.Ratio, token is "%" ? 0.01 : 1e-6);
            relative = true;
            return true;
        }

        if (_form.Units.ToleranceFamilies.Length != _form.Units.Families.Length && token is "K" or "mK")
        {
            unit = new Unit(Dimension.TemperatureDifference, token is "K" ? 1 : 0.001);
            return true;
        }

        return false;
    }

    /// <summary>The longest run of characters that may belong to a unit.</summary>
    private readonly ReadOnlySpan<char> Token(int start)
    {
        int end = start;
        while (end < _text.Length && _text[end] is not (',' or '\u00B1' or '+' or '-' or '\u2212' or '.' or '\u2026') && !PatternText.IsBlank(_text[end]))
        {
            end++;
        }

        return _text[start..end];
    }

    private bool TakeSignedNumber(out double number)
    {
        int start = _at;
        bool signed = TakeSign(out bool negative);
        if (signed)
        {
            SkipBlanks();
        }

        if (TakeNumber(out number) && (!negative || _form.Signed))
        {
            number = negative ? -number : number;
            return true;
        }

        _at = start;
        return false;
    }

    private bool TakeNumber(out double number)
    {
        number = 0;
        int start = _at;
        if (!TakeDigits())
        {
            return false;
        }

        if (Peek('.') && _at + 1 < _text.Length && char.IsAsciiDigit(_text[_at + 1]))
        {
            _at++;
            TakeDigits();
        }

        int mantissaEnd = _at;
        if (_at < _text.Length && _text[_at] is 'e' or 'E')
        {
            _at++;
            if (_at < _text.Length && _text[_at] is '+' or '-' or '\u2212')
            {
                _at++;
            }

            int digits = 0;
            while (digits < 3 && _at < _text.Length && char.IsAsciiDigit(_text[_at]))
            {
                digits++;
                _at++;
            }

            if (digits == 0)
            {
                _at = mantissaEnd;
            }
        }

        ReadOnlySpan<char> raw = _text[start.._at];
        if (raw.Length <= 64 && raw.IndexOfAny('_', '\u2009', '\u202F') < 0 && raw.IndexOf('\u2212') < 0)
        {
            number = double.Parse(raw, NumberStyles.AllowDecimalPoint | NumberStyles.AllowExponent, CultureInfo.InvariantCulture);
        }
        else
        {
            string plain = raw.ToString().Replace("_", "", StringComparison.Ordinal).Replace("\u2009", "", StringComparison.Ordinal)
                .Replace("\u202F", "", StringComparison.Ordinal).Replace('\u2212', '-');
            number = double.Parse(plain, NumberStyles.AllowDecimalPoint | NumberStyles.AllowExponent, CultureInfo.InvariantCulture);
        }

        return true;
    }

    /// <summary>Digits, single separators between them.</summary>
    private bool TakeDigits()
    {
        int start = _at;
        while (_at < _text.Length)
        {
            if (char.IsAsciiDigit(_text[_at]))
            {
                _at++;
            }
            else if (_at > start && _text[_at] is '_' or '\u2009' or '\u202F' && _at + 1 < _text.Length && char.IsAsciiDigit(_text[_at + 1]))
            {
                _at += 2;
            }
            else
            {
                break;
            }
        }

        return _at > start;
    }

    private bool TakePlusMinus()
    {
        if (Peek('\u00B1'))
        {
            _at++;
            return true;
        }

        if (!Peek('+'))
        {
            return false;
        }

        int next = _at + 1;
        if (next < _text.Length && _text[next] == '/')
        {
            next++;
        }

        if (next < _text.Length && _text[next] is '-' or '\u2212')
        {
            _at = next + 1;
            return true;
        }

        return false;
    }

    private bool TakeSign(out bool negative)
    {
        negative = false;
        if (_at < _text.Length && _text[_at] is '+' or '-' or '\u2212')
        {
            negative = _text[_at] != '+';
            _at++;
            return true;
        }

        return false;
    }

    private bool TakeDots()
    {
        if (Peek('\u2026'))
        {
            _at++;
            return true;
        }

        if (_text[_at..].StartsWith("..", StringComparison.Ordinal))
        {
            _at += 2;
            return true;
        }

        return false;
    }

    private bool TakeWords(string words)
    {
        int at = _at;
        foreach (char c in words)
        {
            if (c == ' ')
            {
                int blanks = at;
                while (at < _text.Length && PatternText.IsBlank(_text[at]))
                {
                    at++;
                }

                if (at == blanks)
                {
                    return false;
                }
            }
            else if (at < _text.Length && _text[at] == c)
            {
                at++;
            }
            else
            {
                return false;
            }
        }

        _at = at;
        return true;
    }

    private bool SkipSomeBlanks()
    {
        int start = _at;
        SkipBlanks();
        return _at > start;
    }

    private void SkipBlanks()
    {
        while (_at < _text.Length && PatternText.IsBlank(_text[_at]))
        {
            _at++;
        }
    }

    private readonly bool Peek(char c) => _at < _text.Length && _text[_at] == c;
}
